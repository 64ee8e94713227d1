// @ts-check
/** A file comes in: chosen, dropped, or the example. */
import { act } from './act.js';
import { base64, call, CallError, sentence } from './api.js';
import { button, byId, fill, goTo, h } from './dom.js';
import { headerOf, noTable, suggest } from './header.js';
import { changed, state } from './state.js';

/** More than this does not fit a message of the server once it is written in base64. */
const mostBytes = 5 * 1024 * 1024;

const place = () => ({ message: byId('file-message'), status: byId('file-status') });

/** Sets up the section. */
export function startIntake() {
  const choose = byId('choose');
  choose.addEventListener('change', () => {
    const [file] = choose.files;
    choose.value = '';
    if (file) takeFile(file);
  });
  byId('example').addEventListener('click', takeExample);
  for (const radio of kinds()) radio.addEventListener('change', () => { state.kind = /** @type {any} */ (radio.value); });
  state.kind = /** @type {any} */ (kinds().find((r) => r.checked)?.value ?? 'results');
  startDrop();
}

/** @returns {HTMLInputElement[]} */
function kinds() {
  return [...document.querySelectorAll('input[name="kind"]')].map((r) => /** @type {HTMLInputElement} */ (r));
}

/** A file may be dropped anywhere: a miss must not make the browser leave the page. */
function startDrop() {
  const target = byId('drop');
  addEventListener('dragover', (e) => {
    e.preventDefault();
    target.classList.add('over');
  });
  addEventListener('dragleave', (e) => {
    if (!e.relatedTarget) target.classList.remove('over');
  });
  addEventListener('drop', (e) => {
    e.preventDefault();
    target.classList.remove('over');
    const [file] = e.dataTransfer?.files ?? [];
    if (file) takeFile(file);
  });
}

async function takeExample() {
  const name = state.kind === 'log' ? 'example-log.csv' : 'example.csv';
  await act(place(), 'Fetching the example', async () => {
    const answer = await fetch(`/assets/${name}`).catch(() => null);
    if (!answer?.ok) throw new CallError('The example could not be fetched: the server does not answer. Start it again, then repeat this step.', 'gone');
    return readFile(new File([await answer.blob()], name));
  }, waysOut);
}

/** Reads a file that came in. @param {File} file */
function takeFile(file) {
  return act(place(), `Reading ${file.name}`, () => readFile(file), waysOut);
}

/**
 * Gets the bytes of a file, or says why they are of no use.
 * @param {File} file
 * @returns {Promise<{name: string, content: string}>}
 */
export async function contentOf(file) {
  if (file.size === 0) throw new CallError(`“${file.name}” is empty: there is not one byte in it. Choose the file that holds the rows.`, 'refused');
  if (file.size > mostBytes) {
    throw new CallError(`“${file.name}” has ${(file.size / 1048576).toFixed(1)} MB; this page takes up to 5 MB. Use a part of it, or the command line, which takes any length.`, 'refused');
  }
  const bytes = await file.arrayBuffer().catch(() => {
    throw new CallError(`“${file.name}” could not be read from the disk. It may have been moved, or it is a folder. Choose it again.`, 'refused');
  });
  const what = noTable(new Uint8Array(bytes));
  if (what) throw new CallError(`“${file.name}” is not a table of text. It looks like ${what}.`, 'refused');
  return { name: file.name, content: base64(new Uint8Array(bytes)) };
}

/** @param {File} file */
async function readFile(file) {
  // What is shown of an earlier file goes, so that nobody takes it for this one; groups already read stay.
  state.file = null;
  state.read = null;
  byId('reread').open = false;
  fill(byId('reread-status'));
  fill(byId('reread-message'));
  changed('read');
  state.file = await contentOf(file);
  state.reading = {};
  await readAgain();
  goTo(byId('understood-title'));
  return `${file.name} has been read.`;
}

/** Reads the file that is at hand, in the way that state.reading says. */
export async function readAgain() {
  const path = state.kind === 'log' ? '/v1/logs:read' : '/v1/results:read';
  state.read = await readContent(path, { ...state.file, ...state.reading });
  changed('read');
  if (state.kind === 'log') return;
  state.groups = state.read.groups;
  state.source = state.file?.name ?? '';
  changed('groups');
}

/**
 * Has the server read a file. Its words about the file get a frame of ours.
 * @param {string} path
 * @param {any} request
 */
export async function readContent(path, request) {
  try {
    return await call(path, request);
  } catch (problem) {
    if (!(problem instanceof CallError) || problem.kind !== 'refused') throw problem;
    const words = problem.message.replace(/^content: /, '').replaceAll(`${request.name}: `, '').replaceAll(`${request.name} line`, 'line');
    const told = words.split('; content: ').map((w) => sentence(/^(has|is|holds|begins|ends|needs) /.test(w) ? `it ${w}` : w)).join(' ');
    throw new CallError(`“${request.name}” could not be read. ${told}`, 'refused');
  }
}

/** Ways on after a refusal: to say which column is which, or to take the file for the other kind. @param {CallError} problem */
function waysOut(problem) {
  if (problem.kind !== 'refused' || !state.file) return [];
  const other = state.kind === 'log' ? 'results' : 'log';
  const header = headerOf(state.file.content);
  const results = state.kind === 'results';
  const map = header.length > 1 && button(results ? 'Say which column is which' : 'Say how it is written', () => byHand(header));
  return [h('div', { class: 'actions' }, dateOrders(problem), map, button(other === 'log' ? 'Read it as a logger’s values' : 'Read it as results', () => {
    state.kind = other;
    for (const radio of kinds()) radio.checked = radio.value === other;
    act(place(), 'Reading the file', async () => {
      state.reading = {};
      await readAgain();
      goTo(byId('understood-title'));
      return 'The file has been read.';
    }, waysOut);
  }))];
}

/** Where only the order of day and month is not known, one press says it. @param {CallError} problem */
function dateOrders(problem) {
  if (!/day-month-year or month-day-year/.test(problem.message)) return [];
  return [['day-month-year', 'The day comes first'], ['month-day-year', 'The month comes first']].map(([dateOrder, label]) => button(label, () => {
    act(place(), 'Reading the file', async () => {
      state.reading = { ...state.reading, format: { ...state.reading.format, dateOrder } };
      await readAgain();
      goTo(byId('understood-title'));
      return 'The file has been read.';
    }, waysOut);
  }, 'main'));
}

/** Shows the columns of a file that has not been understood yet. @param {string[]} header */
function byHand(header) {
  state.read = { draft: true, header, columns: suggest(header), format: {}, guesses: [], notes: [], rejected: [], groups: [], channels: [], rows: 0, rejectedRows: 0 };
  changed('read');
  byId('reread').open = true;
  goTo(byId('understood-title'));
}
