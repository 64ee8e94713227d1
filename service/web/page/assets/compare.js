// @ts-check
/** Two campaigns of one group, side by side. */
import { act } from './act.js';
import { call } from './api.js';
import { byId, fill, goTo, h, table } from './dom.js';
import { figureBox } from './figure.js';
import { field, FieldProblem, number, numeric, select, text, wide } from './form.js';
import { methods, notes } from './group.js';
import { contentOf, readContent } from './intake.js';
import { copyButton } from './keep.js';
import { outcomeLabel, outcomeOf } from './marks.js';
import { on, state } from './state.js';
import { count, figures, ordinal, stated, title } from './words.js';

/** Sets up the section. */
export function startCompare() {
  const choose = byId('compare-choose');
  choose.addEventListener('change', () => {
    const [file] = choose.files;
    choose.value = '';
    if (file) second(file);
  });
  byId('compare-form').addEventListener('submit', (/** @type {Event} */ e) => {
    e.preventDefault();
    compare();
  });
  on('groups', () => {
    state.second = null;
    show();
  });
  on('asked', show);
}

const place = () => ({ message: byId('compare-message'), status: byId('compare-status'), form: byId('compare-form') });

/** Reads a second file in the same way as the first. @param {File} file */
function second(file) {
  return act(place(), `Reading ${file.name}`, async () => {
    const answer = await readContent('/v1/results:read', { ...(await contentOf(file)), ...state.reading });
    state.second = { name: file.name, groups: answer.groups };
    show();
    const refused = Number(answer.rejectedRows);
    return `${file.name}: ${count(answer.groups.length, 'group')}${refused ? `, ${count(refused, 'row')} refused: ${answer.rejected[0].reason}` : ''}.`;
  });
}

/** Campaigns of a group by name, in the order of the files. @param {any} group @returns {Map<string, any[]>} */
function campaignsOf(group) {
  const by = /** @type {Map<string, any[]>} */ (new Map());
  const add = (/** @type {any} */ g, /** @type {string} */ file) => {
    for (const reading of g?.readings ?? []) {
      const name = reading.campaign || file;
      by.set(name, [...(by.get(name) ?? []), reading]);
    }
  };
  add(group, state.source || 'first file');
  const twin = state.second?.groups.find((g) => g.name === group.name && g.agent === group.agent && g.unit === group.unit);
  const name = state.second?.name === state.source ? `${state.second?.name} (second)` : state.second?.name;
  add(twin, name ?? 'second file');
  return by;
}

/** Groups that have two campaigns at least. */
function comparable() {
  return state.groups.map((group, i) => ({ group, i, campaigns: campaignsOf(group) })).filter(({ campaigns }) => campaigns.size > 1);
}

function show() {
  byId('compare-empty').hidden = state.groups.length > 0;
  byId('compare-form').hidden = state.groups.length === 0;
  fill(byId('compare-second'), state.second ? `Second file: ${state.second.name}.` : '');
  fill(byId('compare-answer'));
  const able = comparable();
  if (able.length === 0) {
    fill(byId('compare-fields'), h('p', { class: 'hint' }, state.second
      ? 'No group of the second file has the zone, agent and unit of a group of the first.'
      : 'This file holds one campaign. Add the file of another one.'));
    return;
  }
  const group = select('group', able.map(({ group: g, i }) => [String(i), title(g)]));
  const pair = h('div', { class: 'fields' });
  group.addEventListener('change', () => fill(pair, pairFields(Number(group.value))));
  fill(pair, pairFields(able[0].i));
  fill(byId('compare-fields'), wide(field('Group', group)), pair);
}

/** Fields that depend on the group. @param {number} i */
function pairFields(i) {
  const names = [...campaignsOf(state.groups[i]).entries()].map(([name, readings]) => /** @type {[string, string]} */ ([name, `${name} (${count(readings.length, 'reading')})`]));
  const limit = limitOf(i);
  return [
    field('Earlier campaign', select('from', names, names[0][0])), field('Later campaign', select('to', names, names[1][0])),
    field('Limit', numeric('limit', { value: limit ? stated(limit.value) : '' }), 'May be empty.'),
    field('Unit of the limit', text('unit', { value: limit?.unit || state.groups[i].unit, class: 'short' })),
  ];
}

/** The limit that was asked about, or that of the file. @param {number} i */
function limitOf(i) {
  const { name, agent } = state.groups[i];
  return (state.asked?.groups.find((g) => g.name === name && g.agent === agent) ?? state.groups[i]).limit;
}

function request() {
  const input = (/** @type {string} */ name) => byId('compare-form').elements.namedItem(name);
  if (!input('group')) throw new FieldProblem(byId('compare-choose'), 'There is only one campaign. Add a second file, or choose the column of campaigns where the file was read.');
  const group = state.groups[Number(input('group').value)];
  const [from, to] = [input('from').value, input('to').value];
  if (from === to) throw new FieldProblem(input('to'), 'Both campaigns are the same. Choose two.');
  const by = campaignsOf(group);
  const value = number(input('limit'), { name: 'The limit', above: 0 });
  return {
    name: group.name, agent: group.agent, unit: group.unit, ...(value === undefined ? {} : { limit: { value, unit: input('unit').value.trim() } }),
    campaigns: [from, to].map((name) => ({ name, readings: by.get(name)?.map((r) => ({ ...r, campaign: name })) })),
  };
}

function compare() {
  return act(place(), 'Comparing', async () => {
    const asked = request();
    const answer = await call('/v1/campaigns:compare', asked);
    showAnswer(asked, answer);
    return 'The comparison is below.';
  });
}

/** @param {any} asked @param {any} answer */
function showAnswer(asked, answer) {
  const [c] = answer.comparisons;
  const p = `${ordinal(answer.percentile)} percentile`;
  const heading = h('h3', { tabindex: -1 }, `${c.from} and ${c.to}: ${title(answer)}`);
  const ratio = (/** @type {string} */ name, /** @type {any} */ e) => [name, figures(e?.estimate), figures(e?.lower), figures(e?.upper)];
  fill(
    byId('compare-answer'), heading, h('p', { class: 'sentence' }, c.conclusion),
    table('Each campaign by itself', [{ title: 'Campaign', head: true }, { title: 'Outcome' }, { title: 'Readings', number: true }, { title: p, number: true }, { title: 'At least', number: true }, { title: 'At most', number: true }],
      answer.campaigns.map((/** @type {any} */ a) => [a.name, outcomeLabel(outcomeOf({ result: a })), a.sample.readings, figures(a.percentile?.estimate), figures(a.percentile?.lower), [figures(a.percentile?.upper), h('small', null, a.unit)]])),
    table(`Later over earlier, with the lower and upper end of each at ${stated(100 * answer.confidence)} % confidence, one-sided. Under 1 is a fall.`,
      [{ title: 'Ratio', head: true }, { title: 'Estimate', number: true }, { title: 'At least', number: true }, { title: 'At most', number: true }],
      [ratio(p, c.percentileRatio), ratio('Arithmetic mean', c.arithmeticMeanRatio), ratio('Geometric mean', c.geometricMeanRatio), ratio('Standard deviation of ln reading', c.logStandardDeviationRatio)]),
    figureBox(`The two campaigns of ${title(answer)}`, [{
      name: 'Campaigns', alt: `Readings of ${c.from} and ${c.to} side by side; the tables above hold the numbers.`,
      path: '/v1/campaigns:plot', body: () => JSON.stringify({ comparison: asked, format: 'IMAGE_FORMAT_SVG' }),
    }]),
    notes(answer.notes), methods(answer.methods), h('p', { class: 'caution' }, answer.caution), copyButton('/v1/campaigns:compare', () => JSON.stringify(asked)),
  );
  goTo(heading);
}
