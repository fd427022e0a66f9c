/** Room kit: one event as a calendar file, after RFC 5545, so that a wait ends with a reminder. */

/** Octets a line may have before it is folded (section 3.1). */
const LONGEST_LINE = 75;

/** Write a time as UTC (section 3.3.5). @param {Date} time */
function stamp(time) {
  return `${time.toISOString().replace(/[-:]/g, "").slice(0, 15)}Z`;
}

/** Escape a text (section 3.3.11). @param {string} text */
function escaped(text) {
  return text.replace(/[\\;,]/g, "\\$&").replace(/\r?\n/g, "\\n");
}

/** Fold a line; no character is cut in two. @param {string} line */
function foldLine(line) {
  const encoder = new TextEncoder();
  let [folded, octets] = ["", 0];
  for (const character of line) {
    const size = encoder.encode(character).length;
    if (octets + size > LONGEST_LINE) [folded, octets] = [`${folded}\r\n `, 1];
    folded += character;
    octets += size;
  }
  return folded;
}

/**
 * Write an event with an alarm at its start.
 * @param {{title: string, text: string, address: string, start: Date, minutes: number, now: Date}} event
 * @returns {string} the text of the file
 */
export function calendarFile({ title, text, address, start, minutes, now }) {
  const lines = [
    "BEGIN:VCALENDAR",
    "VERSION:2.0",
    "PRODID:-//Before Parts//Checker//EN",
    "BEGIN:VEVENT",
    `UID:${now.getTime()}-${start.getTime()}@before-parts`,
    `DTSTAMP:${stamp(now)}`,
    `DTSTART:${stamp(start)}`,
    `DTEND:${stamp(new Date(start.getTime() + minutes * 60_000))}`,
    `SUMMARY:${escaped(title)}`,
    `DESCRIPTION:${escaped(text)}`,
    `URL:${address}`,
    "BEGIN:VALARM",
    "ACTION:DISPLAY",
    `DESCRIPTION:${escaped(title)}`,
    "TRIGGER:PT0M",
    "END:VALARM",
    "END:VEVENT",
    "END:VCALENDAR",
  ];
  return lines.map((line) => `${foldLine(line)}\r\n`).join("");
}
