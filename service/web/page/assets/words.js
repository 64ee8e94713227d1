// @ts-check
/** The words and numbers of the page. */

/** Outcomes by their name in the contract. */
export const outcomes = /** @type {Record<string, string>} */ ({
  OUTCOME_COMPLIANT: 'Compliant',
  OUTCOME_NOT_COMPLIANT: 'Not compliant',
  OUTCOME_UNDECIDED: 'Undecided',
  OUTCOME_UNSPECIFIED: 'Not judged',
  REFUSED: 'Refused',
});

/** Rules that the page offers, with what they look at. */
export const rules = /** @type {[string, string][]} */ ([
  ['RULE_EN689', 'EN 689:2018'],
  ['RULE_UPPER_LIMIT_95_95', '95 % limits of the 95th percentile'],
  ['RULE_POSTERIOR', 'Posterior probability that the 95th percentile is above the limit'],
  ['RULE_MEAN_UPPER_LIMIT', 'Limits of the arithmetic mean'],
  ['RULE_GROUP_AND_SUBJECT', 'Group and subject (needs to know who wore each sampler)'],
]);

/** Short names of all rules, as the report and the command line call them. */
export const ruleNames = /** @type {Record<string, string>} */ ({
  RULE_EN689: 'EN 689:2018',
  RULE_UPPER_LIMIT_95_95: '95 % limits of the 95th percentile',
  RULE_POSTERIOR: 'posterior probability',
  RULE_MEAN_UPPER_LIMIT: 'limits of the arithmetic mean',
  RULE_SINGLE_SHIFT: 'single full-period sample',
  RULE_GROUP_AND_SUBJECT: 'group and subject',
});

/** Severities of notes. */
export const severities = /** @type {Record<string, string>} */ ({
  SEVERITY_WARNING: 'Warning', SEVERITY_CAUTION: 'Caution', SEVERITY_INFORMATION: 'Note',
});

/** What separates cells. */
export const delimiters = /** @type {[string, string][]} */ ([[',', 'comma'], [';', 'semicolon'], ['\t', 'tab'], ['|', 'bar']]);

/** Writes a number to three significant figures. @param {number|undefined|null} v @param {number} [n] */
export function figures(v, n = 3) {
  if (typeof v !== 'number' || !Number.isFinite(v)) return '–';
  const scientific = v.toExponential(n - 1);
  const exponent = Number(scientific.split('e')[1]);
  if (exponent < -4 || exponent >= 7) return scientific;
  return v.toFixed(Math.max(n - 1 - exponent, 0));
}

/** Writes a number as somebody stated it. @param {number|undefined|null} v */
export function stated(v) {
  return typeof v === 'number' && Number.isFinite(v) ? String(Number(v.toPrecision(6))) : '–';
}

/** Writes a fraction in percent. @param {number|undefined|null} v */
export function percent(v) {
  if (typeof v !== 'number' || !Number.isFinite(v)) return '–';
  if (v > 0 && v < 0.0001) return '<0.01\u00a0%';
  if (v > 0.9995 && v < 1) return '>99.9\u00a0%';
  return `${v === 0 || v === 1 ? 100 * v : figures(100 * v)}\u00a0%`;
}

/** Names a percentile: 95th, 99.9th. @param {number} fraction */
export function ordinal(fraction) {
  return `${stated(100 * fraction)}th`;
}

/** Writes a number with its noun. @param {number} n @param {string} noun @param {string} [many] */
export function count(n, noun, many = `${noun}s`) {
  return `${n} ${n === 1 ? noun : many}`;
}

/** Names a group. @param {{name?: string, agent?: string}} group */
export function title(group) {
  return [group.name, group.agent].filter(Boolean).join(', ') || 'the readings';
}

/** Writes what a reading says. @param {any} reading */
export function result(reading) {
  if (!reading) return '–';
  if (reading.value !== undefined) return figures(reading.value);
  if (reading.below !== undefined) return `< ${figures(reading.below)}`;
  if (reading.above !== undefined) return `> ${figures(reading.above)}`;
  if (reading.between) return `${figures(reading.between.lower)} to ${figures(reading.between.upper)}`;
  return 'no result';
}

/** Writes a duration such as "28800s" in hours and minutes. @param {string|undefined} text */
export function duration(text) {
  const seconds = parseFloat(text ?? '');
  if (!Number.isFinite(seconds)) return '–';
  if (seconds < 60) return `${stated(seconds)} s`;
  const minutes = Math.round(seconds / 60);
  if (minutes < 60) return `${minutes} min`;
  return minutes % 60 ? `${Math.floor(minutes / 60)} h ${minutes % 60} min` : `${minutes / 60} h`;
}

/** Writes a time of the contract without its seconds and zone. @param {string|undefined} text */
export function time(text) {
  return text ? text.replace('T', ' ').replace(/(:\d\d)(:\d\d)?(\.\d+)?Z$/, '$1') : '–';
}

/** Writes the paths of quantities in the contract as words, as the command line does. @param {string} quantity */
export function spelled(quantity) {
  if (quantity.startsWith('unit of ')) return quantity;
  return quantity.replaceAll('fit.', '').replaceAll('.', ', ').replace(/(?<=[^ ])\p{Lu}|(?<=\p{Ll})\d/gu, (c) => ` ${c}`).toLowerCase();
}
