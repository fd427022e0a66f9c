/**
 * Output room: invented readouts to try, as a reader under the dash would show them.
 *
 * The cars do not exist. The texts use the plain form of service 01, 03, 07 and 0A replies.
 */

/** @typedef {{name: string, text: string}} Example */

/** @type {Example[]} */
export const EXAMPLES = [
  {
    name: "Battery changed yesterday",
    text: [
      "7E8 06 41 01 00 07 E5 E5",
      "7E8 03 41 30 02",
      "7E8 04 41 31 00 1C",
      "7E8 03 41 2F 80",
      "7E8 02 43 00",
      "7E8 02 47 00",
    ].join("\n"),
  },
  {
    name: "Always a full tank",
    text: [
      "7E8 06 41 01 00 07 65 04",
      "7E8 03 41 30 1E",
      "7E8 04 41 31 03 20",
      "7E8 03 41 2F F2",
      "7E8 02 43 00",
      "7E8 02 47 00",
    ].join("\n"),
  },
  {
    name: "Ready, with a permanent code",
    text: [
      "7E8 06 41 01 00 07 E5 00",
      "7E8 03 41 30 10",
      "7E8 04 41 31 01 4A",
      "7E8 02 43 00",
      "7E8 04 4A 01 04 20",
    ].join("\n"),
  },
];
