// @ts-check
/** One group in full: the arithmetic, the numbers, figures, what weakens the answer and where each number comes from. */
import { sentence } from './api.js';
import { byId, h, table } from './dom.js';
import { groupFigures } from './figure.js';
import { copyButton } from './keep.js';
import { outcomeLabel, outcomeOf } from './marks.js';
import { count, figures, ordinal, percent, ruleNames, severities, spelled, stated, title } from './words.js';

/**
 * A group that can be opened. What is inside is made when it is.
 * @param {any} group The request.
 * @param {any} answer
 * @param {number} index
 */
export function groupDetails(group, answer, index) {
  const inside = h('div', { class: 'inside', tabindex: -1, role: 'group', 'aria-label': title(group) });
  const details = /** @type {HTMLDetailsElement} */ (h('details', { class: 'group', id: `group-${index}` },
    h('summary', null, h('span', { class: 'group-title' }, title(group)), outcomeLabel(outcomeOf(answer))), inside));
  details.addEventListener('toggle', () => {
    if (details.open && !inside.hasChildNodes()) inside.append(...contents(group, answer));
  });
  return details;
}

/** Opens a group and goes inside: the same press of Enter would close it again through its summary. @param {number} index */
export function openGroup(index) {
  const details = byId(`group-${index}`);
  details.open = true;
  details.querySelector('.inside').focus({ preventScroll: true });
  details.scrollIntoView({ block: 'start' });
}

/** @param {any} group @param {any} answer @returns {Node[]} */
function contents(group, answer) {
  const r = answer.result;
  if (!r) return [...refusal(answer), copyButton('/v1/groups:assess', () => JSON.stringify(group))];
  return /** @type {Node[]} */ ([
    reading(r), decision(r), notes(r.notes), numbers(r), groupFigures(group, r), otherRules(r), methods(r.methods),
    h('p', { class: 'caution' }, r.caution), copyButton('/v1/groups:assess', () => JSON.stringify(group)),
  ].filter(Boolean));
}

/** Why there is no answer, and the way on where this page has one. @param {any} answer */
function refusal(answer) {
  const text = answer.error?.message ?? 'There is no answer.';
  if (!text.includes('--accept-dependent')) return [h('p', null, sentence(text))];
  return [
    h('p', null, sentence(text.replace(/^readings: /, 'the readings ').replace(' (tailbound reduce)', '').replace(' (acceptDependent, --accept-dependent)', ''))),
    h('p', { class: 'hint' }, 'To reduce them, read the file as a logger’s values. To accept them, say so under “Limits and rule” and judge again.'),
  ];
}

/** @param {any} r */
function reading(r) {
  const s = r.sample;
  const parts = [[s.below, 'below a reporting limit'], [s.above, 'over the range'], [s.between, 'between two bounds']].filter(([n]) => n).map(([n, w]) => `${n} ${w}`);
  const range = s.detected ? `, from ${stated(s.minimum)} to ${stated(s.maximum)} ${r.unit}` : '';
  const limit = r.limit ? `Limit ${stated(r.limit.value)} ${r.limit.unit || r.unit}.` : 'No limit was stated, so the group is described and not judged.';
  return h('p', null, `${count(s.readings, 'reading')}, ${s.detected} with a value${range}${parts.length ? `; ${parts.join(', ')}` : ''}. ${limit}`, r.limitReduction ? ` ${r.limitReduction.reason}` : '');
}

/** @param {any} r */
function decision(r) {
  if (!r.decision) return null;
  return h('div', { class: 'decision' },
    h('p', null, outcomeLabel(r.decision.outcome), ` by the rule ${ruleNames[r.decision.rule] ?? r.decision.rule}.`),
    h('p', null, r.decision.reason), h('p', { class: 'hint' }, `Source: ${r.decision.source}.`),
    r.reassessment && h('p', null, `Assess again within ${count(r.reassessment.months, 'month')}: ${r.reassessment.reason}`));
}

/** @param {any[]} list */
export function notes(list) {
  if (!list?.length) return null;
  return h('ul', { class: 'notes' }, list.map((n) => h('li', { class: n.severity.toLowerCase().replace('_', '-') }, h('b', null, `${severities[n.severity] ?? 'Note'}: `), n.text)));
}

/** @param {any} r */
function numbers(r) {
  if (!r.fit) return null;
  const of = (/** @type {string} */ name, /** @type {any} */ e, write = figures, unit = r.unit) => [[name, unit && h('small', null, unit)], write(e?.estimate), write(e?.lower), write(e?.upper)];
  const rows = [
    of('Geometric mean', r.fit.geometricMean), of('Geometric standard deviation', r.fit.geometricStandardDeviation, figures, ''),
    of('Arithmetic mean', r.fit.arithmeticMean), of(`${ordinal(r.percentile.fraction)} percentile`, r.percentile),
  ];
  if (r.exceedance) rows.push(of('Exposures above the limit', r.exceedance, percent, ''));
  if (r.posterior) rows.push([`Probability that the ${ordinal(r.percentile.fraction)} percentile is above the limit`, percent(r.posterior.percentileAboveLimit), '', '']);
  return table(`Estimates, with the lower and upper end of each at ${stated(100 * r.percentile.confidence)} % confidence, one-sided`,
    [{ title: 'Quantity', head: true }, { title: 'Estimate', number: true }, { title: 'At least', number: true }, { title: 'At most', number: true }], rows);
}

/** @param {any} r */
function otherRules(r) {
  if (!r.decisions?.length) return null;
  return h('details', null, h('summary', null, 'What the other rules say'),
    h('dl', { class: 'rules' }, r.decisions.filter((/** @type {any} */ d) => d.rule !== r.decision?.rule).map((/** @type {any} */ d) => [
      h('dt', null, `By ${ruleNames[d.rule] ?? d.rule}: `, outcomeLabel(d.outcome)), h('dd', null, d.reason),
    ])));
}

/** @param {any[]} list */
export function methods(list) {
  if (!list?.length) return null;
  return h('details', null, h('summary', null, 'Where each number comes from'),
    h('dl', { class: 'rules' }, list.map((m) => [h('dt', null, spelled(m.quantity)), h('dd', null, `${m.method}. Source: ${m.source}.`)])));
}
