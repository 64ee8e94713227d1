// @ts-check
/** What the page knows, and who wants to hear of it. */

/**
 * @typedef {object} Asked
 * @property {any[]} groups Requests as they were sent.
 * @property {any[]} answers One for each: {result} or {error}.
 */

export const state = {
  /** @type {'results'|'log'} */
  kind: 'results',
  /** @type {{name: string, content: string}|null} The file as it was chosen, its bytes in base64. */
  file: null,
  /** @type {any} How the file is to be read: the request without name and content. */
  reading: {},
  /** @type {any} The answer of results:read or logs:read. */
  read: null,
  /** Name of the file that the groups are from. */
  source: '',
  /** @type {any[]} Groups without limits of the page. */
  groups: [],
  /** @type {Asked|null} */
  asked: null,
  /** @type {{name: string, groups: any[]}|null} The second file of a comparison. */
  second: null,
  /** @type {Map<string, any[]>} Readings of logs, by file. */
  collected: new Map(),
};

const bus = new EventTarget();

/** Calls back when something has changed. @param {'read'|'groups'|'asked'} what @param {() => void} then */
export function on(what, then) {
  bus.addEventListener(what, then);
}

/** Says that something has changed. @param {'read'|'groups'|'asked'} what */
export function changed(what) {
  bus.dispatchEvent(new Event(what));
}
