// @ts-check
/** A look at the first line of a table that the server could not place, so that a person can say which column is which. */

/** Words by which a column may be meant, for a first suggestion. */
const hints = /** @type {Record<string, RegExp>} */ ({
  zone: /zone|place|location|area|site|room|workplace/, agent: /agent|substance|chemical|analyte|contaminant/, result: /result|concentration|value|level/,
  unit: /unit/, limit: /limit/, subject: /subject|person|worker|employee/, campaign: /campaign|visit|season/, start: /start|date|time/, minutes: /minutes|duration/,
});

/** What begins a file that is no text, and what to do with it. */
const kinds = /** @type {[string, string][]} */ ([
  ['PK\x03\x04', 'a packed file, such as a workbook of a spreadsheet program. Save the sheet as CSV and choose that file'],
  ['\xd0\xcf\x11\xe0', 'a workbook of an older spreadsheet program. Save the sheet as CSV and choose that file'],
  ['\x89PNG', 'a picture. Choose the table of results itself, as CSV'], ['\xff\xd8\xff', 'a picture. Choose the table of results itself, as CSV'],
  ['GIF8', 'a picture. Choose the table of results itself, as CSV'], ['%PDF', 'a PDF document. Choose the table of results itself, as CSV'],
]);

/** Says what a file is when it is certainly no table. @param {Uint8Array} bytes @returns {string|undefined} */
export function noTable(bytes) {
  const start = String.fromCharCode(...bytes.subarray(0, 8));
  return kinds.find(([magic]) => start.startsWith(magic))?.[1];
}

/** The names in the first line that is no comment. @param {string} content In base64. @returns {string[]} */
export function headerOf(content) {
  const most = 65_536;
  const bytes = Uint8Array.from(atob(content.slice(0, most)), (c) => c.charCodeAt(0));
  const line = decode(bytes).split(/\r\n|\r|\n/).find((l) => l.trim() && !l.startsWith('#')) ?? '';
  const counts = [',', ';', '\t', '|'].map((d) => /** @type {[string, number]} */ ([d, line.split(d).length]));
  const [delimiter] = counts.reduce((a, b) => (b[1] > a[1] ? b : a));
  return line.split(delimiter).map((n) => n.trim().replace(/^"(.*)"$/, '$1').replaceAll('""', '"')).filter((n) => n && n.length <= 60);
}

/** @param {Uint8Array} bytes */
function decode(bytes) {
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return new TextDecoder('utf-16le').decode(bytes);
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return new TextDecoder('utf-16be').decode(bytes);
  // The last letter may be cut in two.
  const whole = bytes.subarray(0, Math.max(bytes.lastIndexOf(10), 0) || bytes.length);
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(whole);
  } catch {
    return new TextDecoder('windows-1252').decode(whole);
  }
}

/** Suggests which column holds what, each column once. @param {string[]} header @returns {Record<string, string>} */
export function suggest(header) {
  const free = new Set(header);
  const out = /** @type {Record<string, string>} */ ({});
  for (const exact of [true, false]) {
    for (const [role, hint] of Object.entries(hints)) {
      const name = out[role] ? undefined : [...free].find((n) => (exact ? n.toLowerCase() === role : hint.test(n.toLowerCase())));
      if (name === undefined) continue;
      out[role] = name;
      free.delete(name);
    }
  }
  return out;
}
