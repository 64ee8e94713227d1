// @ts-check
/** What a person takes away: files and the call that gives the same answer. */
import { byId, fill, h } from './dom.js';

/** Saves a file. @param {string} name @param {Blob} blob */
export function save(name, blob) {
  const url = URL.createObjectURL(blob);
  const link = h('a', { href: url, download: name, hidden: true });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

/**
 * Writes the call for a POSIX shell. The body stands in a here-document with a quoted end mark, in which nothing is expanded, and
 * whose length no system caps; a line of JSON is never that mark.
 * @param {string} path
 * @param {string} body
 */
export function curl(path, body) {
  const end = body.endsWith('\n') ? '' : '\n';
  return `curl -sS --data-binary @- -H 'Content-Type: application/json' '${location.origin}${path}' <<'END_OF_BODY'\n${body}${end}END_OF_BODY\n`;
}

/**
 * Copies a text. Where the browser does not allow it, the text is shown to be copied by hand.
 * @param {string} text
 * @param {HTMLElement} status
 * @param {string} done
 */
export async function copy(text, status, done) {
  try {
    await navigator.clipboard.writeText(text);
    fill(status, done);
  } catch {
    const area = /** @type {HTMLTextAreaElement} */ (h('textarea', { readonly: true, rows: 6, 'aria-label': 'The call' }));
    area.value = text;
    fill(status, h('span', null, 'The browser did not let this page copy. The call is selected here; copy it by hand.'), area);
    area.focus();
    area.select();
  }
}

/** A button that copies a call. @param {string} path @param {() => string} body */
export function copyButton(path, body) {
  const status = h('span', { role: 'status', class: 'status' });
  const act = () => copy(curl(path, body()), status, 'Copied. Paste it into a shell.');
  return h('div', { class: 'actions' }, h('button', { type: 'button', onclick: act }, 'Copy the curl call'), status);
}

/** Columns of the outcomes file: who and what outcome first, then by path in the contract, as the command line writes them. */
const paths = [
  'unit', 'limit.value', 'sample.readings', 'sample.detected', 'sample.below', 'sample.above', 'sample.between', 'sample.minimum', 'sample.maximum',
  ...['geometricMean', 'geometricStandardDeviation', 'arithmeticMean'].flatMap((q) => ['estimate', 'lower', 'upper'].map((e) => `fit.${q}.${e}`)),
  'percentile.fraction', 'percentile.confidence', 'percentile.estimate', 'percentile.lower', 'percentile.upper',
  'exceedance.estimate', 'exceedance.lower', 'exceedance.upper', 'posterior.percentileAboveLimit', 'decision.reason',
];

/** @param {any} from @param {string} path */
function read(from, path) {
  return path.split('.').reduce((v, key) => v?.[key], from);
}

/** @param {unknown} value */
function cell(value) {
  const text = value === undefined || value === null ? '' : String(value);
  // A spreadsheet would run a text that begins like a formula.
  const safe = typeof value === 'string' && /^[=+\-@\t\r]/.test(text) ? `'${text}` : text;
  return /[",\n\r]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** Writes outcomes as CSV, one row a group. @param {import('./state.js').Asked} asked */
export function outcomesCSV(asked) {
  const snake = paths.map((p) => p.replaceAll('.', '_').replace(/[A-Z]/g, (c) => `_${c.toLowerCase()}`));
  const bare = (/** @type {string|undefined} */ name, /** @type {string} */ prefix) => (name === undefined || name === `${prefix}UNSPECIFIED` ? '' : name.replace(prefix, ''));
  const rows = asked.answers.map(({ result, error }, i) => [
    asked.groups[i].name, asked.groups[i].agent, bare(result?.decision?.outcome, 'OUTCOME_'), bare(result?.decision?.rule, 'RULE_'),
    ...paths.map((p) => read(result, p)), (result?.notes ?? []).map((/** @type {any} */ n) => n.code).join(' '), error?.message,
  ]);
  return [['name', 'agent', 'decision_outcome', 'decision_rule', ...snake, 'notes', 'error'], ...rows].map((r) => `${r.map(cell).join(',')}\r\n`).join('');
}

/** Where outcomes are told to be kept. */
export const keeping = () => ({ message: byId('outcomes-message'), status: byId('outcomes-status') });
