/** Say whether the browser was told to save data: then nothing is fetched unasked. @returns {boolean} */
export function savesData() {
  const { connection } = /** @type {{connection?: {saveData?: boolean}}} */ (/** @type {unknown} */ (navigator));
  return connection?.saveData === true;
}
