// @ts-check
/** What was made of the file, what was refused, and how to read it differently. */
import { act } from './act.js';
import { byId, fill, goTo, h, table } from './dom.js';
import { field, select, text } from './form.js';
import { readAgain } from './intake.js';
import { on, state } from './state.js';
import { count, delimiters } from './words.js';

/** What a column of results may hold. */
const roles = [
  ['zone', 'Zone or place'], ['agent', 'Agent'], ['result', 'Result'], ['unit', 'Unit'], ['limit', 'Limit'],
  ['subject', 'Subject (who wore the sampler)'], ['campaign', 'Campaign'], ['start', 'Start'], ['minutes', 'Minutes'],
];

/** Sets up the section. */
export function startUnderstood() {
  on('read', show);
  byId('reread-form').addEventListener('submit', (/** @type {Event} */ e) => {
    e.preventDefault();
    reread();
  });
}

function show() {
  const { read } = state;
  byId('understood').hidden = !read;
  if (!read) return;
  byId('understood-sentence').textContent = summary(read);
  showRefused(read);
  showFacts(read);
  fill(byId('understood-guesses'), read.guesses.map((/** @type {string} */ g) => h('li', null, g)),
    read.notes.map((/** @type {any} */ n) => h('li', null, n.text)));
  showForm(read);
}

/** @param {any} read */
function summary(read) {
  if (read.draft && state.kind === 'log') return `${state.file?.name} has not been read yet. Say below how it is written. Then read it again.`;
  if (read.draft) return `${state.file?.name} has not been read yet. Say below which column holds what; zone, agent and result are needed, and a unit. Then read it again.`;
  const rows = count(Number(read.rows), 'row');
  const refused = Number(read.rejectedRows);
  const rest = refused ? `${refused} of them refused` : 'none refused';
  if (state.kind === 'log') return `${state.file?.name}: ${rows}, ${rest}, ${count(read.channels.length, 'sensor')}.`;
  const judged = read.groups.filter((/** @type {any} */ g) => g.limit).length;
  return `${state.file?.name}: ${rows}, ${rest}, ${count(read.groups.length, 'group')}, of which ${judged === 0 ? 'none has' : judged === 1 ? '1 has' : `${judged} have`} a limit in the file.`;
}

/** @param {any} read */
function showRefused(read) {
  const refused = read.rejected;
  fill(byId('understood-refused'), refused.length > 0 && [
    table(
      `${state.kind === 'log' ? 'Rows and cells' : 'Rows'} that were refused${Number(read.rejectedRows) > refused.length ? `, the first ${refused.length}` : ''}. Nothing in them counts.`,
      [{ title: 'Line', number: true }, { title: 'Column' }, { title: 'Why' }],
      refused.map((/** @type {any} */ r) => [r.line, r.column || 'the whole row', r.reason]),
    ),
  ]);
}

/** @param {any} read */
function showFacts(read) {
  const f = read.format ?? {};
  const facts = [
    ['Encoding', f.encoding], ['Cells separated by', delimiters.find(([d]) => d === f.delimiter)?.[1] ?? f.delimiter],
    ['Decimal mark', marks[f.decimalMark]], ['Dates', f.dateOrder], ['Time zone', f.timeZone], ...columnFacts(read),
  ];
  fill(byId('understood-facts'), facts.filter(([, v]) => v).map(([k, v]) => h('div', { class: k.startsWith('Columns') && 'whole' }, h('dt', null, k), h('dd', null, v))));
}

const marks = /** @type {Record<string, string>} */ ({ '.': 'point', ',': 'comma' });

/** Which columns were taken for what, and which were left alone. @param {any} read */
function columnFacts(read) {
  if (state.kind === 'log' || read.draft) return [['Columns', read.header.join(', ')]];
  const used = roles.filter(([r]) => read.columns[r]);
  const rest = read.header.filter((/** @type {string} */ name) => !used.some(([r]) => read.columns[r] === name));
  return [['Columns used', used.map(([r]) => (read.columns[r] === r ? r : `${read.columns[r]} as ${r}`)).join(', ')], ['Columns not used', rest.join(', ')]];
}

/** @param {any} read */
function showForm(read) {
  const header = read.header.map((/** @type {string} */ name) => [name, name]);
  const columns = state.kind === 'results'
    ? [...roles.map(([role, label]) => field(label, select(`column-${role}`, [['', 'not stated'], ...header], read.columns[role] ?? ''))),
      field('Unit, where the file has none', text('unit', { value: state.reading.unit ?? '' }), 'Such as mg/m3.'),
      field('Readings of one group share', select('group', groupings, (state.reading.groupBy ?? []).join(',') || 'zone,agent')),
      field('Samples of one shift', select('combine', combinings, state.reading.combineWithin ?? ''), 'By zone and wearer; weighted by time.')]
    : [field('Column of times', select('time', [['', 'the first'], ...header], state.reading.timeColumn ?? ''))];
  fill(byId('reread-columns'), columns);
  const found = /** @type {[string, string]} */ (['', 'as found in the file']);
  const f = state.reading.format ?? {};
  fill(
    byId('reread-format'),
    field('Encoding', select('encoding', [found, ...['utf-8', 'utf-16le', 'utf-16be', 'windows-1252'].map(same)], f.encoding)),
    field('Cells separated by', select('delimiter', [found, ...delimiters], f.delimiter)),
    field('Decimal mark', select('decimalMark', [found, ['.', 'point'], [',', 'comma']], f.decimalMark)),
    field('Dates', select('dateOrder', [found, ...['year-month-day', 'day-month-year', 'month-day-year'].map(same)], f.dateOrder)),
    field('Time zone', text('timeZone', { value: f.timeZone ?? '', placeholder: 'UTC', class: 'short' }), 'Such as Europe/Paris or +01:00.'),
  );
}

/** @type {[string, string][]} */
const groupings = [
  ['zone,agent', 'zone and agent'], ['agent', 'agent'], ['zone,agent,subject', 'zone, agent and person'], ['agent,subject', 'agent and person'],
  ['zone,agent,campaign', 'zone, agent and campaign'],
];
/** Consecutive samples within so long count as one. @type {[string, string][]} */
const combinings = [['', 'each stand alone'], ...[8, 10, 12, 16].map((hours) => /** @type {[string, string]} */ ([`${hours * 3600}s`, `one average within ${hours} h`]))];

/** @param {string} v @returns {[string, string]} */
const same = (v) => [v, v];

function reread() {
  const form = byId('reread-form');
  const value = (/** @type {string} */ name) => form.elements.namedItem(name)?.value.trim() ?? '';
  const format = Object.fromEntries(['encoding', 'delimiter', 'decimalMark', 'dateOrder', 'timeZone'].map((n) => [n, form.elements.namedItem(n).value]).filter(([, v]) => v.trim()));
  state.reading = state.kind === 'log'
    ? { format, timeColumn: value('time') }
    : {
      format, unit: value('unit'), groupBy: value('group').split(','), ...(value('combine') && { combineWithin: value('combine') }),
      columns: Object.fromEntries(roles.map(([r]) => [r, value(`column-${r}`)]).filter(([, v]) => v)),
    };
  return act({ message: byId('reread-message'), status: byId('reread-status'), form }, 'Reading the file again', async () => {
    await readAgain();
    goTo(byId('understood-title'));
    return 'The file has been read again.';
  });
}
