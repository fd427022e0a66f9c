/** Room kit: a file of data from beside the page. */

/**
 * Fetch a file of JSON. Callers spell its address out in full, so that the build can add its digest.
 *
 * Throws what went wrong in words when it cannot be had.
 * @type {(address: URL | string) => Promise<any>}
 */
export async function fetchedJson(address) {
  const answer = await fetch(address);
  if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
  return answer.json();
}
