// @ts-check
/** Fields of forms and what people write into them. */
import { h } from './dom.js';

/** What is wrong with one field. */
export class FieldProblem extends Error {
  /** @param {HTMLElement} field @param {string} message */
  constructor(field, message) {
    super(message);
    this.field = field;
  }
}

let serial = 0;

/**
 * A labelled control.
 * @param {string} label
 * @param {HTMLElement} control
 * @param {string} [hint]
 */
export function field(label, control, hint) {
  const id = control.id || `f${++serial}`;
  control.id = id;
  if (hint) control.setAttribute('aria-describedby', `${id}-hint`);
  return h('div', { class: 'field' }, h('label', { for: id }, label), control, hint && h('p', { class: 'hint', id: `${id}-hint` }, hint));
}

/** Gives a field room for long words. @param {HTMLElement} element A field. */
export function wide(element) {
  element.classList.add('wide');
  return element;
}

/**
 * A choice among [value, label].
 * @param {string} name
 * @param {[string, string][]} options
 * @param {string} [value]
 * @returns {HTMLSelectElement}
 */
export function select(name, options, value) {
  const control = /** @type {HTMLSelectElement} */ (h('select', { name }, options.map(([v, label]) => h('option', { value: v }, label))));
  if (value !== undefined) control.value = value;
  if (control.selectedIndex < 0) control.selectedIndex = 0;
  return control;
}

/**
 * A line of text.
 * @param {string} name
 * @param {Record<string, any>} [attributes]
 * @returns {HTMLInputElement}
 */
export function text(name, attributes) {
  return /** @type {HTMLInputElement} */ (h('input', { type: 'text', name, autocomplete: 'off', ...attributes }));
}

/** A line for a number. @param {string} name @param {Record<string, any>} [attributes] */
export function numeric(name, attributes) {
  return text(name, { inputmode: 'decimal', class: 'numeric', ...attributes });
}

/**
 * Reads a number; an empty field gives undefined. A decimal comma is understood, but not a comma that may part thousands.
 * @param {HTMLInputElement} input
 * @param {{name: string, above?: number, least?: number, most?: number, whole?: boolean, required?: boolean}} rule
 * @returns {number|undefined}
 */
export function number(input, rule) {
  const written = input.value.trim();
  if (!written) {
    if (rule.required) throw new FieldProblem(input, `${rule.name} is needed here. Write a number.`);
    return undefined;
  }
  if (/^[1-9]\d{0,2},\d{3}$/.test(written)) {
    throw new FieldProblem(input, `${rule.name}, “${written}”, can be read in two ways. Write ${written.replace(',', '')} or ${written.replace(',', '.')}.`);
  }
  const v = Number(/^[^.]*,[^.,]*$/.test(written) ? written.replace(',', '.') : written);
  if (!Number.isFinite(v) || !inRange(v, rule)) {
    throw new FieldProblem(input, `${rule.name}, “${written}”, cannot be used. Write ${range(rule)}.`);
  }
  return v;
}

/** @param {number} v @param {{above?: number, least?: number, most?: number, whole?: boolean}} rule */
function inRange(v, rule) {
  return v > (rule.above ?? -Infinity) && v >= (rule.least ?? -Infinity) && v <= (rule.most ?? Infinity) && (!rule.whole || Number.isInteger(v));
}

/** Says what a rule accepts. @param {{above?: number, least?: number, most?: number, whole?: boolean}} rule */
function range(rule) {
  const parts = [rule.whole ? 'a whole number' : 'a number'];
  if (rule.above !== undefined) parts.push(`greater than ${rule.above}`);
  if (rule.least !== undefined) parts.push(`of at least ${rule.least}`);
  if (rule.most !== undefined) parts.push(`${parts.length > 1 ? 'and ' : ''}at most ${rule.most}`);
  return parts.join(' ');
}

/** Marks the field that a problem is about, and only that one. @param {HTMLFormElement} form @param {unknown} problem */
export function mark(form, problem) {
  for (const control of form.querySelectorAll('[aria-invalid]')) control.removeAttribute('aria-invalid');
  if (problem instanceof FieldProblem) problem.field.setAttribute('aria-invalid', 'true');
}
