// @ts-check
/** How many samples, before the first visit or after the readings so far. */
import { act } from './act.js';
import { call } from './api.js';
import { byId, fill, goTo, h, table } from './dom.js';
import { figureBox } from './figure.js';
import { field, number, numeric, select, text, wide } from './form.js';
import { methods, notes } from './group.js';
import { copyButton } from './keep.js';
import { on, state } from './state.js';
import { count, percent, rules, stated, title } from './words.js';

/** Rules that can be planned for without more to be asked. */
const planned = rules.filter(([r]) => r !== 'RULE_GROUP_AND_SUBJECT');

/** Sets up the section. */
export function startPlan() {
  byId('plan-form').addEventListener('submit', (/** @type {Event} */ e) => {
    e.preventDefault();
    plan();
  });
  on('groups', show);
  on('asked', show);
  show();
}

function show() {
  fill(byId('plan-answer'));
  const groups = state.groups.map((g, i) => /** @type {[string, string]} */ ([String(i), `after the readings of ${title(g)}`]));
  const about = select('about', [...groups, ['', 'for an exposure that I assume']]);
  const rest = h('div', { class: 'fields' });
  about.addEventListener('change', () => fill(rest, dependent(about.value)));
  fill(rest, dependent(about.value));
  fill(
    byId('plan-fields'), wide(field('What is asked', about)), rest,
    wide(field('Rule', select('rule', planned))),
    field('What is wanted', select('aim', [['PLAN_AIM_SETTLED', 'an outcome, either way'], ['PLAN_AIM_COMPLIANT', 'compliant'], ['PLAN_AIM_NOT_COMPLIANT', 'not compliant']])),
    field('Wanted chance', select('power', [['0.5', '50 %'], ['0.8', '80 %'], ['0.9', '90 %'], ['0.95', '95 %']], '0.8')),
    field('Look at up to', numeric('most', { value: '60' }), 'Samples, at most 1000.'),
  );
}

/** Fields that depend on what is asked. @param {string} about */
function dependent(about) {
  const limit = about === '' ? undefined : limitOf(Number(about));
  const limits = [
    field('Limit', numeric('limit', { value: limit ? stated(limit.value) : '' })),
    field('Unit', text('unit', { value: about === '' ? 'mg/m3' : limit?.unit || state.groups[Number(about)].unit, class: 'short' })),
  ];
  if (about !== '') return limits;
  return [...limits, field('Geometric mean', numeric('mean'), 'In the unit of the limit.'), field('Geometric standard deviation', numeric('spread'), 'Greater than 1.')];
}

/** @param {number} i */
function limitOf(i) {
  const { name, agent } = state.groups[i];
  return (state.asked?.groups.find((g) => g.name === name && g.agent === agent) ?? state.groups[i]).limit;
}

function request() {
  const input = (/** @type {string} */ name) => byId('plan-form').elements.namedItem(name);
  const about = input('about').value;
  const asked = {
    rule: input('rule').value, aim: input('aim').value, power: Number(input('power').value),
    limit: { value: number(input('limit'), { name: 'The limit', above: 0, required: true }), unit: input('unit').value.trim() },
    samplesLower: about === '' ? 3 : 1, samplesUpper: number(input('most'), { name: 'The number of samples', least: 3, most: 1000, whole: true, required: true }),
  };
  if (about !== '') {
    const group = state.groups[Number(about)];
    return { ...asked, readings: group.readings, unit: group.unit };
  }
  return {
    ...asked, geometricMean: number(input('mean'), { name: 'The geometric mean', above: 0, required: true }),
    geometricStandardDeviation: number(input('spread'), { name: 'The geometric standard deviation', above: 1, required: true }),
  };
}

function plan() {
  return act({ message: byId('plan-message'), status: byId('plan-status'), form: byId('plan-form') }, 'Working it out', async () => {
    const asked = request();
    const answer = await call('/v1/sampling:plan', asked);
    showAnswer(asked, answer);
    return 'The answer is below.';
  });
}

/** @param {any} asked @param {any} answer */
function showAnswer(asked, answer) {
  const further = answer.prospect !== undefined && answer.prospect !== null;
  const source = further ? answer.prospect : answer;
  const heading = h('h3', { tabindex: -1 }, further ? 'Further samples' : 'Samples');
  fill(
    byId('plan-answer'), heading, h('p', { class: 'sentence' }, further ? answer.prospect.text : sentence(asked, answer)),
    table(`Chance of each outcome by number of ${further ? 'further ' : ''}samples`,
      [{ title: 'Samples', number: true, head: true }, { title: 'Compliant', number: true }, { title: 'Not compliant', number: true }, { title: 'Undecided', number: true }],
      few(source.plans).map((p) => [p.samples, percent(p.compliant), percent(p.notCompliant), percent(p.undecided)])),
    figureBox('The chance of each outcome', [{
      name: 'Chance', alt: 'Chance of each outcome by number of samples; the table above holds the numbers.',
      path: '/v1/sampling:plot', body: () => JSON.stringify({ plan: asked, format: 'IMAGE_FORMAT_SVG' }),
    }]),
    notes(answer.notes), methods(answer.methods), h('p', { class: 'caution' }, answer.caution), copyButton('/v1/sampling:plan', () => JSON.stringify(asked)),
  );
  goTo(heading);
}

/** @param {any} asked @param {any} answer */
function sentence(asked, answer) {
  if (!answer.samplesNeeded) return `No number of samples up to ${asked.samplesUpper} has a chance of ${percent(asked.power)}.`;
  const lasting = answer.samplesLasting && answer.samplesLasting !== answer.samplesNeeded ? ` From ${answer.samplesLasting} on the chance stays there; in between it falls again.` : '';
  return `${count(answer.samplesNeeded, 'sample')} ${answer.samplesNeeded === 1 ? 'has' : 'have'} a chance of at least ${percent(asked.power)}.${lasting}`;
}

/** A few rows tell the shape: all of the first six, then fewer and fewer. @param {any[]} plans */
function few(plans) {
  const wanted = new Set([8, 10, 12, 15, 20, 30, 40, 60, 80, 100, 150, 200, 300, 500, 1000]);
  return plans.filter((p, i) => p.samples <= 6 || wanted.has(p.samples) || i === plans.length - 1);
}
