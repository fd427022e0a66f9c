/**
 * Say the sentences of symptoms/sentences, with their places filled in.
 *
 * The build writes the sentences into this file, so they come with the code that says them and
 * need no request of their own. Twin of build_tools/knowledge/sentences.py.
 */

/** @typedef {Record<string, string | number | null | undefined>} Places */

/**
 * By name the forms of each sentence: what the places must be, and the text.
 * @type {Record<string, [Record<string, string>, string][]>}
 */
// The build fills this line; unfilled, nothing can be said.
const SENTENCES = {};

/** @type {(name: string, places?: Places) => string} */
export function say(name, places = {}) {
  const forms = SENTENCES[name];
  if (!forms) throw new Error(`No sentence is called “${name}”.`);
  const form = forms.find(([when]) => Object.entries(when).every(([place, value]) => places[place] === value));
  return form ? fill(form[1], places) : "";
}

/** Fill the places of a text. @type {(text: string, places: Places) => string} */
export function fill(text, places) {
  return text.replace(/\{([a-z_]+)\}/g, (_, place) => {
    if (places[place] === undefined) throw new Error(`“${text}” was given no ${place}.`);
    return String(places[place]);
  });
}
