// @ts-check
/** One way to do what a person asks: say that it is under way, do it, and say kindly when it fails. */
import { fill, h, say } from './dom.js';
import { CallError } from './api.js';
import { FieldProblem, mark } from './form.js';

/**
 * @typedef {object} Place
 * @property {HTMLElement} message Where a failure is told; it takes the focus.
 * @property {HTMLElement} status Where progress is told.
 * @property {HTMLFormElement} [form] The form whose fields may be wrong.
 */

/**
 * Runs a step.
 * @param {Place} place
 * @param {string} doing What is under way, such as "Reading the file".
 * @param {() => Promise<string|void>} step Gives what was done, as a sentence, or nothing.
 * @param {(problem: CallError) => (Node|string)[]} [help] More to say about a refusal.
 * @returns {Promise<boolean>} Whether it was done.
 */
export async function act(place, doing, step, help) {
  fill(place.message);
  if (place.form) mark(place.form, null);
  fill(place.status, `${doing} …`);
  try {
    const done = await step();
    fill(place.status, done ?? '');
    return true;
  } catch (problem) {
    fill(place.status);
    if (place.form) mark(place.form, problem);
    tell(place.message, problem, help);
    return false;
  }
}

/**
 * Tells a problem.
 * @param {HTMLElement} region
 * @param {unknown} problem
 * @param {(problem: CallError) => (Node|string)[]} [help]
 */
function tell(region, problem, help) {
  if (problem instanceof FieldProblem) {
    const { field } = problem;
    say(region, problem.message, h('p', null, h('a', { href: `#${field.id}`, onclick: (/** @type {Event} */ e) => {
      e.preventDefault();
      field.focus();
    } }, 'Go to the field')));
    return;
  }
  if (problem instanceof CallError) {
    say(region, problem.message, ...(help?.(problem) ?? []));
    return;
  }
  say(region, `This page made a mistake and could not go on: ${problem instanceof Error ? problem.message : problem}. Reload it and try again.`);
}
