// @ts-check
/** Figures drawn by the server. They are shown as images, so nothing in them can act, with their numbers as text. */
import { CallError, fetchDocument } from './api.js';
import { button, fill, h } from './dom.js';
import { figures, ordinal, percent, stated } from './words.js';

/**
 * A place for figures with one button for each.
 * @param {string} label What the figures are of.
 * @param {{name: string, alt: string, narrow?: boolean, path: string, body: () => string}[]} kinds
 */
export function figureBox(label, kinds) {
  const frame = h('div', { class: 'plate', 'aria-live': 'polite', tabindex: 0, role: 'group', 'aria-label': `Figure of ${label}` });
  const buttons = kinds.map((k, i) => button(k.name, () => show(i)));
  const cache = /** @type {(string|undefined)[]} */ ([]);
  let wanted = -1;
  /** @param {number} i */
  async function show(i) {
    wanted = i;
    buttons.forEach((b, j) => b.setAttribute('aria-pressed', String(i === j)));
    if (!cache[i]) fill(frame, h('p', { class: 'hint' }, 'Drawing …'));
    try {
      cache[i] ??= URL.createObjectURL(await fetchDocument(kinds[i].path, kinds[i].body()));
      if (wanted === i) fill(frame, h('img', { src: cache[i], alt: kinds[i].alt, class: kinds[i].narrow ? 'narrow' : 'wide' }));
    } catch (problem) {
      if (wanted === i) fill(frame, h('p', null, `There is no such figure. ${problem instanceof CallError ? problem.message : ''}`));
    }
  }
  show(0);
  return h('figure', { class: 'figures' },
    kinds.length > 1 && h('div', { class: 'switch', role: 'group', 'aria-label': `Figures of ${label}` }, buttons), frame,
    h('figcaption', null, kinds.length > 1 ? `Figures of ${label}.` : label));
}

/** Figures of one group, as far as its answer has what they show. @param {any} group The request. @param {any} r The answer. */
export function groupFigures(group, r) {
  const of = `${r.sample.readings} readings${r.sample.detected < r.sample.readings ? `, ${r.sample.readings - r.sample.detected} of them without a value` : ''}`;
  const p = r.percentile;
  const reach = r.fit && p ? `: ${ordinal(p.fraction)} percentile ${figures(p.estimate)} ${r.unit}, from ${figures(p.lower)} to ${figures(p.upper)}` : '';
  const limit = r.limit ? `, limit ${stated(r.limit.value)} ${r.unit}` : '';
  const narrow = matchMedia('(max-width: 40rem)').matches;
  const kind = (/** @type {string} */ name, /** @type {string} */ figure, /** @type {string} */ alt) => ({
    name, alt, narrow, path: '/v1/groups:plot',
    body: () => JSON.stringify({ group, figure: `GROUP_FIGURE_${figure}`, format: narrow ? 'IMAGE_FORMAT_NARROW_SVG' : 'IMAGE_FORMAT_SVG' }),
  });
  const kinds = [];
  if (r.fitCheck?.plot?.length) kinds.push(kind('Probability', 'PROBABILITY', `Log-probability plot of ${of}${reach}${limit}.`));
  if (r.fit) kinds.push(kind('Exceedance', 'EXCEEDANCE', `Fraction of exposures above each concentration${r.exceedance ? `; above the limit ${percent(r.exceedance.estimate)}, from ${percent(r.exceedance.lower)} to ${percent(r.exceedance.upper)}` : ''}${limit}.`));
  if (r.posterior) kinds.push(kind('Percentile', 'POSTERIOR', `Posterior density of the percentile${reach}${limit}; probability above the limit ${percent(r.posterior.percentileAboveLimit)}.`));
  if (group.readings.some((/** @type {any} */ x) => x.start)) kinds.push(kind('Over time', 'TIME', `Readings over time, ${of}${limit}.`));
  return kinds.length === 0 ? null : figureBox([group.name, group.agent].filter(Boolean).join(', ') || 'the readings', kinds);
}
