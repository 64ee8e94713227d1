// @ts-check
/** Elements without markup in strings: text from a file or the server is always text. */

/**
 * Makes an element. Attributes that are false, null or undefined are left out; "onclick" and the like are listeners.
 * @param {string} tag
 * @param {Record<string, any>|null} [attributes]
 * @param {...any} children Nodes and text, or lists of them; what is null, undefined or false is left out.
 * @returns {HTMLElement}
 */
export function h(tag, attributes, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (name.startsWith('on')) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, '');
    else if (value !== false && value != null) element.setAttribute(name, String(value));
  }
  append(element, children);
  return element;
}

/** @param {Element} element @param {any[]} children */
function append(element, children) {
  for (const child of children.flat()) {
    if (child !== null && child !== undefined && child !== false) element.append(child instanceof Node ? child : String(child));
  }
}

/**
 * Finds an element that the page is known to have.
 * @param {string} id
 * @returns {any}
 */
export function byId(id) {
  const element = document.getElementById(id);
  if (!element) throw new Error(`the page has no element "${id}"`);
  return element;
}

/** Replaces what an element holds. @param {Element} element @param {...any} children */
export function fill(element, ...children) {
  element.replaceChildren();
  append(element, children);
}

/**
 * Makes an element of a drawing.
 * @param {string} tag
 * @param {Record<string, any>} attributes
 * @param {...Node} children
 */
export function svg(tag, attributes, ...children) {
  const element = document.createElementNS('http://www.w3.org/2000/svg', tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value));
  element.append(...children);
  return element;
}

/**
 * @typedef {object} Column
 * @property {string} title
 * @property {boolean} [number] Set in figures that line up.
 * @property {boolean} [head] Names its row.
 */

/**
 * Makes a table. On a narrow screen its rows become cards, so the roles are written out: layout must not take them away.
 * @param {string} caption
 * @param {Column[]} columns
 * @param {any[][]} rows Cells: text, a node, or a list of them.
 */
export function table(caption, columns, rows) {
  const style = (/** @type {Column} */ c) => (c.number ? 'number' : null);
  const head = h('tr', { role: 'row' }, columns.map((c) => h('th', { role: 'columnheader', scope: 'col', class: style(c) }, c.title)));
  const body = rows.map((cells) => h('tr', { role: 'row' }, cells.map((cell, i) => h(
    columns[i].head ? 'th' : 'td',
    { role: columns[i].head ? 'rowheader' : 'cell', scope: columns[i].head && 'row', class: style(columns[i]), 'data-label': columns[i].title },
    h('span', null, cell),
  ))));
  return h('table', { role: 'table', class: shape(columns) }, h('caption', null, caption),
    h('thead', { role: 'rowgroup' }, head), h('tbody', { role: 'rowgroup' }, body));
}

/** A few columns of numbers stay a table on any screen. @param {Column[]} columns */
function shape(columns) {
  if (columns.length < 5 && columns.every((c) => c.head || c.number)) return 'small compact';
  if (columns.length > 6 && !columns[columns.length - 1].number) return 'broad';
  return columns.length < 6 && 'small';
}

/**
 * Shows a message and takes the reader to it. A message says what happened and what to do.
 * @param {HTMLElement} region
 * @param {string} text
 * @param {...(Node|string)} more
 */
export function say(region, text, ...more) {
  fill(region, h('p', null, text), ...more);
  region.focus();
}

/** Makes a button. @param {string} label @param {() => void} act @param {string} [style] */
export function button(label, act, style) {
  return h('button', { type: 'button', class: style, onclick: act }, label);
}

/** Moves to a heading, softly where motion is welcome. @param {HTMLElement} heading */
export function goTo(heading) {
  heading.focus({ preventScroll: true });
  const still = matchMedia('(prefers-reduced-motion: reduce)').matches;
  heading.scrollIntoView({ behavior: still ? 'auto' : 'smooth', block: 'start' });
}
