// @ts-check
/** The outcomes: a sentence, a table, files to keep, then group by group. */
import { act } from './act.js';
import { fetchDocument, lines } from './api.js';
import { byId, fill, h, table } from './dom.js';
import { groupDetails, openGroup } from './group.js';
import { copy, curl, keeping, outcomesCSV, save } from './keep.js';
import { outcomeLabel, outcomeOf, strip } from './marks.js';
import { on, state } from './state.js';
import { count, figures, ordinal, percent, ruleNames, stated } from './words.js';

/** Sets up the section. */
export function startOutcomes() {
  on('asked', show);
  byId('save-report').addEventListener('click', saveReport);
  byId('save-csv').addEventListener('click', () => keep('outcomes.csv', 'text/csv', (asked) => outcomesCSV(asked)));
  byId('save-json').addEventListener('click', () => keep('outcomes.json', 'application/json', (asked) => `${JSON.stringify(asked, null, 1)}\n`));
  byId('copy-curl').addEventListener('click', () => {
    if (!state.asked) return;
    copy(curl('/v1/groups:assessAll', lines(state.asked.groups)), byId('outcomes-status'), 'Copied. Pasted into a shell it gives one line a group, and a last line that counts them.');
  });
}

function show() {
  const { asked } = state;
  byId('outcomes-empty').hidden = asked !== null;
  byId('outcomes-shown').hidden = asked === null;
  if (!asked) return;
  fill(byId('outcomes-message'));
  fill(byId('outcomes-status'));
  byId('outcomes-sentence').textContent = summary(asked);
  fill(byId('outcomes-table'), outcomesTable(asked),
    h('p', { class: 'hint' }, 'A rule decides by its own test, so a group can be compliant although an upper limit shown here is above the exposure limit.'));
  fill(byId('outcomes-groups'), asked.answers.map((answer, i) => groupDetails(asked.groups[i], answer, i)));
  if (asked.answers.length === 1) openGroup(0);
}

/** @param {import('./state.js').Asked} asked */
function summary(asked) {
  const n = (/** @type {string} */ o) => asked.answers.filter((a) => outcomeOf(a) === o).length;
  const parts = [
    [n('OUTCOME_NOT_COMPLIANT'), 'not compliant'], [n('OUTCOME_UNDECIDED'), 'undecided'], [n('OUTCOME_COMPLIANT'), 'compliant'],
    [n('OUTCOME_UNSPECIFIED'), 'not judged'], [n('REFUSED'), 'refused'],
  ].filter(([k]) => k);
  return `${count(asked.groups.length, 'group')} by the rule ${ruleNames[asked.groups[0]?.rule] ?? ''}: ${parts.map(([k, w]) => `${k} ${w}`).join(', ')}.${leftOut()}`;
}

/** Rows of the file that no outcome knows of. */
function leftOut() {
  const refused = Number(state.read?.rejectedRows ?? 0);
  return refused > 0 ? ` ${count(refused, 'row')} of ${state.file?.name} ${refused === 1 ? 'was' : 'were'} refused and ${refused === 1 ? 'counts' : 'count'} in none of them.` : '';
}

/** @param {import('./state.js').Asked} asked */
function outcomesTable(asked) {
  const fraction = asked.groups[0]?.percentile ?? 0.95;
  const confidence = asked.groups[0]?.confidence ?? 0.95;
  return table(
    `Every group with its outcome, the ${ordinal(fraction)} percentile and the fraction of exposures above the limit, each with its limits at ${stated(100 * confidence)} % confidence, one-sided. A group’s name leads to its details.`,
    [{ title: 'Group', head: true }, { title: 'Outcome' }, { title: 'Readings', number: true }, { title: `${ordinal(fraction)} percentile`, number: true },
      { title: 'Limit', number: true }, { title: 'Above the limit', number: true }, { title: 'Percentile, 0.01 to 10 times the limit' }],
    asked.answers.map((answer, i) => row(asked.groups[i], answer, i)),
  );
}

/** @param {any} group @param {any} answer @param {number} i */
function row(group, answer, i) {
  const r = answer.result;
  const jump = (/** @type {Event} */ e) => {
    e.preventDefault();
    openGroup(i);
  };
  const name = h('a', { href: `#group-${i}`, onclick: jump }, group.name || group.agent || 'the readings');
  const low = r?.sample?.below ?? 0;
  const p = r?.percentile;
  return [
    [name, group.name && group.agent ? h('small', null, group.agent) : ''], outcomeLabel(outcomeOf(answer)),
    [r ? r.sample.readings : group.readings.length, low ? h('small', null, `${low} below`) : ''],
    p ? [figures(p.estimate), h('small', null, `${figures(p.lower)} to ${figures(p.upper)}`)] : '–',
    limitOf(r?.limit ?? (r ? undefined : group.limit), r?.unit), r?.exceedance ? [percent(r.exceedance.estimate), h('small', null, `up to ${percent(r.exceedance.upper)}`)] : '–',
    strip(answer),
  ];
}

/** @param {any} limit @param {string} [unit] That of the answer, into which the limit has been converted. */
function limitOf(limit, unit) {
  return limit ? [stated(limit.value), h('small', null, unit ?? limit.unit)] : '–';
}

function saveReport() {
  const { asked } = state;
  if (!asked) return;
  act(keeping(), 'Writing the report', async () => {
    const document = await fetchDocument('/v1/groups:report', JSON.stringify({ groups: asked.groups }));
    save('exposure-report.html', document);
    return 'The report was handed to your browser as exposure-report.html: one file, to be opened, printed or sent.';
  });
}

/** @param {string} name @param {string} type @param {(asked: import('./state.js').Asked) => string} write */
function keep(name, type, write) {
  const { asked } = state;
  if (!asked) return;
  save(name, new Blob([write(asked)], { type }));
  fill(byId('outcomes-status'), `The file was handed to your browser as ${name}.`);
}
