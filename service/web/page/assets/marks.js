// @ts-check
/** The marks of outcomes: a tail and its bound, in one ink. They stand beside the word and never for it. */
import { h, svg } from './dom.js';
import { outcomes } from './words.js';

/** Outcome of an answer, by its name in the contract. @param {any} answer */
export function outcomeOf(answer) {
  if (!answer.result) return 'REFUSED';
  return answer.result.decision?.outcome ?? 'OUTCOME_UNSPECIFIED';
}

/** Where the tail ends: before the bound, beyond it, or in doubt. */
const tails = /** @type {Record<string, Node[]>} */ ({
  OUTCOME_COMPLIANT: [line(2, 15)],
  OUTCOME_NOT_COMPLIANT: [line(2, 31)],
  OUTCOME_UNDECIDED: [line(2, 11), line(15, 18), line(25, 28)],
  OUTCOME_UNSPECIFIED: [line(2, 4), line(9, 11)],
  REFUSED: [],
});

/** @param {number} from @param {number} to */
function line(from, to) {
  return svg('path', { d: `M${from} 8H${to}`, class: 'tail' });
}

/** Draws the mark of an outcome. @param {string} outcome */
function mark(outcome) {
  const bound = svg('path', { d: 'M21.5 1V15', class: 'bound' });
  const tail = (tails[outcome] ?? []).map((n) => n.cloneNode());
  return svg('svg', { viewBox: '0 0 33 16', width: 33, height: 16, class: 'mark', 'aria-hidden': 'true', focusable: 'false' }, bound, ...tail);
}

/** Writes an outcome: mark and word. @param {string} outcome */
export function outcomeLabel(outcome) {
  return h('span', { class: `outcome ${outcome.toLowerCase().replace('outcome_', '').replace('_', '-')}` }, mark(outcome), outcomes[outcome] ?? outcome);
}

const width = 168;
const lowest = 0.01;
const highest = 10;

/** Place of a multiple of the limit on the strip. @param {number} ratio */
function at(ratio) {
  const part = Math.log(Math.min(Math.max(ratio, lowest), highest) / lowest) / Math.log(highest / lowest);
  return 4 + part * (width - 8);
}

/** Draws a percentile with its limits against the exposure limit, on a logarithmic scale from a hundredth to ten times it. @param {any} answer */
export function strip(answer) {
  const p = answer.result?.percentile;
  const limit = answer.result?.limit?.value;
  if (!limit || !p?.estimate) return '–';
  const bound = at(1);
  const parts = [0.01, 0.1, 10].map((r) => svg('path', { d: `M${at(r)} 15V19`, class: 'tick' }));
  parts.push(svg('path', { d: `M4 17H${width - 4}`, class: 'tick' }), svg('path', { d: `M${bound} 1V19`, class: 'bound' }));
  if (p.lower !== undefined || p.upper !== undefined) {
    const [low, high] = [(p.lower ?? 0) / limit, (p.upper ?? Infinity) / limit];
    parts.push(svg('path', { d: `M${at(low)} 8H${at(high)}`, class: 'reach' }));
    // What goes on beyond the strip has a point there.
    if (high > highest) parts.push(svg('path', { d: `M${width - 4} 3L${width} 8L${width - 4} 13Z`, class: 'beyond' }));
    if (low < lowest) parts.push(svg('path', { d: 'M4 3L0 8L4 13Z', class: 'beyond' }));
  }
  const x = at(p.estimate / limit);
  parts.push(svg('path', { d: `M${x} 3V13`, class: 'tail' }));
  return svg('svg', { viewBox: `0 0 ${width} 20`, width, height: 20, class: 'strip', role: 'img', 'aria-label': stripText(p, limit) }, ...parts);
}

/** @param {any} p @param {number} limit */
function stripText(p, limit) {
  const times = (/** @type {number|undefined} */ v) => (v === undefined ? 'not known' : `${Number((v / limit).toPrecision(2))} times`);
  return `Percentile ${times(p.estimate)} the limit, at least ${times(p.lower)}, at most ${times(p.upper)}.`;
}
