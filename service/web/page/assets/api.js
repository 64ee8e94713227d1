// @ts-check
/** The public calls of the server, and what can go wrong with them. */

/** A call that gave no answer: its message says what happened and what to do. */
export class CallError extends Error {
  /** @param {string} message @param {'gone'|'refused'|'failed'} kind */
  constructor(message, kind) {
    super(message);
    this.kind = kind;
  }
}

const gone = 'The server does not answer. It may have been stopped, or the connection is down. Start it again with “tailbound serve”, '
  + 'then repeat the last step; nothing on this page is lost.';

/**
 * Sends a body and gives the answer, when it is one.
 * @param {string} path
 * @param {string} body
 * @param {string} [type]
 */
async function send(path, body, type = 'application/json') {
  let answer;
  try {
    answer = await fetch(path, { method: 'POST', body, headers: { 'Content-Type': type }, credentials: 'omit' });
  } catch {
    throw new CallError(gone, 'gone');
  }
  if (answer.ok) return answer;
  throw await refusal(answer);
}

/** Reads why a call was refused. @param {Response} answer */
async function refusal(answer) {
  const status = await answer.json().catch(() => ({}));
  const text = typeof status.message === 'string' ? status.message : '';
  if (answer.status === 413) return new CallError(`That is more than the server takes at once. ${sentence(text)} Use a smaller file, or the command line.`, 'refused');
  if (answer.status === 501) return new CallError(`This server cannot do that. ${sentence(text)}`, 'failed');
  if (answer.status < 500 && text) return new CallError(sentence(text), 'refused');
  const id = answer.headers.get('X-Request-Id');
  return new CallError(`The server failed at this step (${answer.status}). ${sentence(text)} Try once more.${id ? ` Its log tells more under the request ${id}.` : ''}`, 'failed');
}

/** Makes a sentence of a message. @param {string} text */
export function sentence(text) {
  const t = text.trim();
  if (!t) return '';
  // The path of a field keeps its own letters.
  const path = /^[a-z]\w*([.[]\S*)?: /.test(t);
  return (path ? t : t[0].toUpperCase() + t.slice(1)) + (/[.!?]$/.test(t) ? '' : '.');
}

/** Reads a body to its end. @template T @param {() => Promise<T>} read @returns {Promise<T>} */
async function whole(read) {
  try {
    return await read();
  } catch {
    throw new CallError(`The answer was cut before its end. ${gone}`, 'gone');
  }
}

/** Calls with one object and gives the answer's. @param {string} path @param {object} request @returns {Promise<any>} */
export async function call(path, request) {
  const answer = await send(path, JSON.stringify(request));
  return whole(() => answer.json());
}

/** Calls and gives the document that comes back. @param {string} path @param {string} body */
export async function fetchDocument(path, body) {
  const answer = await send(path, body);
  return whole(() => answer.blob());
}

/** Writes one object a line. @param {object[]} parts */
export function lines(parts) {
  return parts.map((p) => `${JSON.stringify(p)}\n`).join('');
}

/**
 * Calls with one object a line and gives the one answer.
 * @param {string} path
 * @param {object[]} parts
 * @returns {Promise<any>}
 */
export async function callLines(path, parts) {
  const answer = await send(path, lines(parts), 'application/x-ndjson');
  return whole(() => answer.json());
}

/**
 * Assesses groups. Each answer is {result} or {error}. An answer without the line that counts them was cut, and none of it holds.
 * @param {object[]} groups
 * @returns {Promise<any[]>}
 */
export async function assessAll(groups) {
  const answer = await send('/v1/groups:assessAll', lines(groups), 'application/x-ndjson');
  const text = await whole(() => answer.text());
  const rows = text.split('\n').filter((l) => l.trim()).map((l) => JSON.parse(l));
  const last = rows.pop();
  if (last?.end?.answered !== groups.length || rows.length !== groups.length) {
    throw new CallError(`The answer was cut: ${rows.length} of ${groups.length} groups came. None is shown, as part of an answer may mislead. Judge again.`, 'failed');
  }
  return rows;
}

/** Writes bytes in base64. @param {Uint8Array} bytes */
export function base64(bytes) {
  const step = 0x8000;
  let text = '';
  for (let i = 0; i < bytes.length; i += step) text += String.fromCharCode(...bytes.subarray(i, i + step));
  return btoa(text);
}
