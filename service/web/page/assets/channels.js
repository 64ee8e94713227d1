// @ts-check
/** A logger's values: which sensors, what they can see, and how to average them into readings. */
import { act } from './act.js';
import { callLines, lines } from './api.js';
import { button, byId, fill, goTo, h, table } from './dom.js';
import { figureBox } from './figure.js';
import { field, FieldProblem, number, numeric, select, text } from './form.js';
import { notes } from './group.js';
import { copyButton } from './keep.js';
import { changed, on, state } from './state.js';
import { count, duration, figures, percent, result, time } from './words.js';

/**
 * @typedef {object} Sensor
 * @property {HTMLInputElement} use
 * @property {HTMLInputElement} agent
 * @property {HTMLInputElement} unit
 * @property {HTMLInputElement} least
 * @property {HTMLInputElement} most
 */

/** @type {Sensor[]} */
let sensors = [];

/** Rows of one line of the request; a line must fit a message. */
const rowsOfLine = 20_000;

/** Sets up the section. */
export function startChannels() {
  fill(
    byId('channels-options'),
    field('Zone', text('zone'), 'Where it stood.'), field('Subject', text('subject'), 'Who wore it, if anyone; best a code.'),
    field('Warm-up to leave out, minutes', numeric('warm-up', { value: '0' })),
    field('New shift after a pause of', numeric('pause', { value: '240' }), 'Minutes; empty if the log is one shift.'),
    field('Average over', numeric('period', { placeholder: 'the whole shift' }), 'Minutes; empty for the whole shift.'),
    field('And over 8 hours', select('base', [
      ['', 'no'], ['UNSAMPLED_TIME_ZERO', 'unsampled time without exposure'], ['UNSAMPLED_TIME_SAME', 'unsampled time as the sampled'], ['UNSAMPLED_TIME_UNKNOWN', 'unsampled time unknown'],
    ])),
  );
  byId('channels-form').addEventListener('submit', (/** @type {Event} */ e) => {
    e.preventDefault();
    reduce();
  });
  on('read', show);
}

function show() {
  const log = state.kind === 'log' && state.read && !state.read.draft;
  byId('channels').hidden = !log;
  fill(byId('reduced'));
  if (!log) return;
  sensors = state.read.channels.map((/** @type {any} */ c) => ({
    use: /** @type {HTMLInputElement} */ (h('input', { type: 'checkbox', checked: true })),
    agent: text('agent', { value: c.agent }), unit: text('unit', { value: c.unit || unitIn(c.agent) }), least: numeric('least'), most: numeric('most'),
  }));
  fill(byId('channels-list'), h('p', null, 'Choose the sensors to use. A value under the detection limit counts as such, not as zero; one at the full scale is known only to be at least that.'),
    sensors.map((s, i) => h('fieldset', { class: 'sensor' },
      h('legend', null, h('label', { class: 'check' }, s.use, `Sensor ${i + 1}: ${state.read.channels[i].agent || 'no name'}`)),
      h('div', { class: 'fields' }, field('Agent', s.agent), field('Unit', s.unit), field('Detection limit', s.least), field('Full scale', s.most)))));
}

/** A unit in the name of a column, as a suggestion that stands in its field to be seen. @param {string} name */
function unitIn(name) {
  return /(?:^|[\W_])(ppm|ppb)$/i.exec(name)?.[1].toLowerCase() ?? '';
}

/** The chosen sensors, and the header and values that ask for them. */
function request() {
  const form = byId('channels-form');
  const input = (/** @type {string} */ name) => form.elements.namedItem(name);
  const chosen = sensors.map((s, i) => ({ s, i })).filter(({ s }) => s.use.checked);
  if (chosen.length === 0) throw new FieldProblem(sensors[0]?.use ?? form, 'No sensor is chosen. Choose at least one.');
  const minutes = (/** @type {number|undefined} */ m) => (m ? `${Math.round(m * 60)}s` : undefined);
  const base = input('base').value;
  const header = {
    channels: chosen.map(({ s, i }) => channel(s, i)), zone: input('zone').value.trim(), subject: input('subject').value.trim(),
    warmUp: minutes(number(input('warm-up'), { name: 'The warm-up', least: 0, most: 10_000 })),
    sessionGap: minutes(number(input('pause'), { name: 'The pause', above: 0, most: 100_000 })),
    averagingPeriod: minutes(number(input('period'), { name: 'The averaging period', above: 0, most: 100_000 })),
    base: base ? { length: '28800s', gaps: base, outside: base } : undefined,
  };
  return { header, values: valuesOf(chosen.map(({ i }) => i)) };
}

/** @param {Sensor} s @param {number} i */
function channel(s, i) {
  if (!s.unit.value.trim()) throw new FieldProblem(s.unit, `The unit of sensor ${i + 1} is not known. Write it, such as ppm.`);
  return {
    agent: s.agent.value.trim(), unit: s.unit.value.trim(),
    detectionLimit: number(s.least, { name: 'The detection limit', least: 0 }) ?? 0, fullScale: number(s.most, { name: 'The full scale', above: 0 }),
  };
}

/** Rows of the chosen sensors, in lines that fit. @param {number[]} chosen */
function valuesOf(chosen) {
  const { times, values } = state.read.values;
  const width = state.read.channels.length;
  const parts = [];
  for (let from = 0; from < times.length; from += rowsOfLine) {
    const part = times.slice(from, from + rowsOfLine);
    parts.push({ values: { times: part, values: part.flatMap((/** @type {string} */ _, /** @type {number} */ r) => chosen.map((c) => values[(from + r) * width + c])) } });
  }
  return parts;
}

function reduce() {
  const form = byId('channels-form');
  return act({ message: byId('channels-message'), status: byId('channels-status'), form }, 'Averaging', async () => {
    const { header, values } = request();
    const parts = [{ header }, ...values];
    const answer = await callLines('/v1/traces:reduce', parts);
    showReduced(header, parts, answer);
    return `${count(answer.readings.length, 'average')} from ${count(Number(answer.report?.rows ?? 0), 'row')}.`;
  });
}

/** @param {any} header @param {any[]} parts @param {any} answer */
function showReduced(header, parts, answer) {
  const usable = answer.readings.filter((/** @type {any} */ r) => r.usable);
  const heading = h('h3', { tabindex: -1 }, 'Readings of this log');
  fill(
    byId('reduced'), heading, readingsTable(answer.readings), notes(answer.notes), traceFigures(header, parts),
    h('div', { class: 'actions' }, usable.length > 0 && button('Judge with these readings', () => collect(header, usable), 'main')),
    h('p', { class: 'hint' }, 'Exposure is judged across shifts. Readings of several logs gather: judge with these, then read the next file.'),
    h('p', { class: 'caution' }, answer.caution), copyButton('/v1/traces:reduce', () => lines(parts)),
  );
  goTo(heading);
}

/** @param {any[]} readings */
function readingsTable(readings) {
  const base = readings.some((r) => r.overBase);
  const number = true;
  return table('Averages, each over the time that was covered', [
    { title: 'Agent', head: true }, { title: 'From' }, { title: 'Covered', number }, { title: 'Average', number },
    ...(base ? [{ title: 'Over 8 h', number }] : []), { title: 'Largest 15 min', number }, { title: 'Peak', number },
  ], readings.map((r) => [
    r.agent || 'no name', [time(r.reading?.start), h('small', null, duration(r.reading?.duration))],
    [percent(r.coverage), !r.usable && h('small', null, 'not usable')], [result(r.reading), h('small', null, r.unit)],
    ...(base ? [result(r.overBase)] : []), figures(r.largest15MinuteMean), figures(r.peak),
  ]));
}

/** @param {any} header @param {any[]} parts */
function traceFigures(header, parts) {
  const of = header.channels.map((/** @type {any} */ c) => c.agent).filter(Boolean).join(', ');
  return figureBox(header.channels.length > 1 ? `the trace, ${of}` : `The trace of ${of || 'the sensor'}`, header.channels.map((/** @type {any} */ c, /** @type {number} */ i) => ({
    name: c.agent || `Sensor ${i + 1}`, alt: `Trace of ${c.agent || `sensor ${i + 1}`} in ${c.unit} with its averages and gaps; the table above holds the numbers.`,
    path: '/v1/traces:plot', body: () => lines([{ header: { trace: header, channel: i, format: 'IMAGE_FORMAT_SVG' } }, ...parts.slice(1)]),
  })));
}

/** Puts readings beside those of earlier logs. A log that is read again replaces its own. @param {any} header @param {any[]} usable */
function collect(header, usable) {
  state.collected.set(state.file?.name ?? '', usable.map((r) => ({
    agent: r.agent, unit: r.unit, name: header.zone, reading: { ...(r.overBase ?? r.reading), zone: header.zone, subject: header.subject },
  })));
  const groups = /** @type {Map<string, any>} */ (new Map());
  for (const { agent, unit, name, reading } of [...state.collected.values()].flat()) {
    const key = JSON.stringify([name, agent, unit]);
    const group = groups.get(key) ?? { name, agent, unit, readings: [] };
    group.readings.push(reading);
    groups.set(key, group);
  }
  state.groups = [...groups.values()];
  changed('groups');
  byId('channels-status').textContent = `${count([...state.collected.values()].flat().length, 'reading')} of ${count(state.collected.size, 'log')} wait for a limit below.`;
  goTo(byId('judge-title'));
}
