// @ts-check
/** Limits and the rule: what is asked of each group. */
import { act } from './act.js';
import { assessAll } from './api.js';
import { byId, fill, goTo, h } from './dom.js';
import { field, FieldProblem, number, numeric, select, text, wide } from './form.js';
import { changed, on, state } from './state.js';
import { count, rules, stated } from './words.js';

/**
 * @typedef {object} LimitRow Groups of one agent and unit, which share a limit.
 * @property {string} agent
 * @property {string} unit
 * @property {any[]} groups
 * @property {string[]} inFile What the file states, without repeats.
 * @property {HTMLInputElement} value
 * @property {HTMLInputElement} unitOf
 * @property {boolean} touched Somebody wrote a limit here.
 */

/** @type {LimitRow[]} */
let rows = [];

/** Sets up the section. */
export function startJudge() {
  const options = byId('judge-options');
  fill(
    options,
    wide(field('Rule', select('rule', rules), 'Each group also shows what the other rules say.')),
    field('Percentile', select('percentile', [['0.9', '90th'], ['0.95', '95th'], ['0.99', '99th']], '0.95')),
    field('Confidence of the limits shown', select('confidence', [['0.7', '70 %'], ['0.9', '90 %'], ['0.95', '95 %'], ['0.99', '99 %']], '0.95'), 'One-sided. A rule keeps its own.'),
    field('How limits are found', select('limitMethod', [['LIMIT_METHOD_POSTERIOR', 'from the posterior'], ['LIMIT_METHOD_CALIBRATED', 'calibrated']]), 'Calibrated ones are sharper with many non-detects.'),
    field('Readings that depend on each other', select('dependent', [['', 'refuse the group'], ['yes', 'take them as they are']]), 'Such as minutes of one shift. Taken as they are, they make limits too narrow.'),
  );
  byId('judge-form').addEventListener('submit', (/** @type {Event} */ e) => {
    e.preventDefault();
    judge();
  });
  on('groups', () => {
    // Outcomes of other readings must not stand under these.
    state.asked = null;
    changed('asked');
    showLimits();
  });
}

function showLimits() {
  const known = new Map(rows.filter((r) => r.touched).map((r) => [`${r.agent}\n${r.unit}`, [r.value.value, r.unitOf.value]]));
  const by = /** @type {Map<string, any[]>} */ (new Map());
  for (const group of state.groups) {
    const key = `${group.agent}\n${group.unit}`;
    by.set(key, [...(by.get(key) ?? []), group]);
  }
  rows = [...by.entries()].map(([key, groups]) => limitRow(groups, known.get(key)));
  byId('judge-empty').hidden = rows.length > 0;
  byId('judge-form').hidden = rows.length === 0;
  fill(byId('judge-limits'), h('div', { class: 'limits' }, rows.map(drawRow)));
}

/** @param {any[]} groups @param {string[]} [known] @returns {LimitRow} */
function limitRow(groups, known) {
  const { agent, unit } = groups[0];
  const stating = groups.filter((g) => g.limit);
  const inFile = [...new Set(stating.map((g) => `${stated(g.limit.value)} ${g.limit.unit || unit}`))];
  const one = inFile.length === 1 && stating.length === groups.length ? stating[0].limit : null;
  const row = {
    agent, unit, groups, inFile, touched: known !== undefined,
    value: numeric('limit', { value: known?.[0] ?? (one ? stated(one.value) : ''), placeholder: inFile.length && !one ? 'as in the file' : null }),
    unitOf: text('limit-unit', { value: known?.[1] ?? (one?.unit || unit), class: 'short' }),
  };
  for (const input of [row.value, row.unitOf]) input.addEventListener('input', () => { row.touched = true; });
  return row;
}

/** @param {LimitRow} row */
function drawRow(row) {
  const name = row.agent || 'all readings';
  const stating = row.groups.filter((g) => g.limit).length;
  const told = row.inFile.length === 0 ? 'No limit in the file.' : `In the file: ${row.inFile.slice(0, 4).join('; ')}${row.inFile.length > 4 ? ' …' : ''}${stating < row.groups.length ? `, for ${stating} of them` : ''}.`;
  return h('div', { class: 'limit', role: 'group', 'aria-label': `Limit of ${name}` },
    h('p', { class: 'limit-name' }, h('b', null, name), ` ${count(row.groups.length, 'group')}, in ${row.unit || 'no unit'}. ${told}`),
    field('Limit', row.value), field('Unit', row.unitOf));
}

/** Writes the requests: each group with its limit and the options. */
function requests() {
  const form = byId('judge-form');
  const value = (/** @type {string} */ name) => form.elements.namedItem(name).value;
  const options = { rule: value('rule'), percentile: Number(value('percentile')), confidence: Number(value('confidence')), limitMethod: value('limitMethod'), ...(value('dependent') ? { acceptDependent: true } : {}) };
  const limits = new Map(rows.flatMap((row) => {
    const v = number(row.value, { name: `The limit of ${row.agent || 'all readings'}`, above: 0 });
    const limit = v === undefined ? undefined : { value: v, unit: row.unitOf.value.trim() };
    // An empty field means the limits of the file only where one field cannot show them.
    const several = row.value.placeholder !== '';
    return row.groups.map((g) => /** @type {[any, any]} */ ([g, limit ?? (several ? g.limit : undefined)]));
  }));
  return state.groups.map((g) => {
    const { limit: _, ...rest } = g;
    const limit = limits.get(g);
    return { ...rest, ...(limit ? { limit } : {}), ...options };
  });
}

let warned = '';

/** Asks once before groups are described without being judged, as a forgotten limit is the likelier reason. */
function checkLimits(/** @type {any[]} */ groups) {
  const without = groups.filter((g) => !g.limit);
  const key = JSON.stringify(without.map((g) => [g.name, g.agent]));
  if (without.length < groups.length || warned === key) return;
  warned = key;
  throw new FieldProblem(rows[0].value, 'There is no limit yet, so nothing can be judged. State one for at least one agent, or press Judge again to have the groups described without an outcome.');
}

function judge() {
  const form = byId('judge-form');
  return act({ message: byId('judge-message'), status: byId('judge-status'), form }, 'Judging', async () => {
    const groups = requests();
    checkLimits(groups);
    state.asked = { groups, answers: await assessAll(groups) };
    warned = '';
    changed('asked');
    goTo(byId('outcomes-title'));
    return `${count(groups.length, 'group')} answered; the outcomes are below.`;
  });
}
