/* How does the page ask the server? One function; each way it can fail is an error of its own. */

/** @typedef {import("./types.js").Fault} Fault */

/** The server refused, in words. */
export class Refused extends Error {
  /** @param {Fault[]} faults */
  constructor(faults) {
    super(faults.map((fault) => (fault.where ? `${fault.where}: ${fault.text}` : fault.text)).join(" ") || "The server refused this and did not say why.");
    this.faults = faults;
  }
}

/** The property was changed elsewhere meanwhile. */
export class Stale extends Error {
  /** @param {import("./types.js").Property} property */
  constructor(property) {
    super("The property was changed elsewhere meanwhile.");
    this.property = property;
  }
}

/** The server does not answer. */
export class Away extends Error {}

/**
 * Ask the server; the answer is an object.
 * @param {string} path
 * @param {Record<string, any> | Blob} [body]  sent by POST; without it GET is asked
 * @param {Record<string, string>} [headers]
 * @returns {Promise<any>}
 */
export async function ask(path, body, headers = {}) {
  /** @type {Response} */
  let answer;
  try {
    const blob = body instanceof Blob;
    answer = await fetch(path, body === undefined ? {} : {
      method: "POST",
      headers: { "Content-Type": blob ? "application/octet-stream" : "application/json", ...headers },
      body: blob ? body : JSON.stringify(body),
    });
  } catch {
    throw new Away("The server does not answer.");
  }
  /** @type {any} */
  const told = await answer.json().catch(() => null);
  if (answer.status === 409 && told?.property) throw new Stale(told.property);
  if (answer.status >= 500) throw new Refused([{ text: told?.faults?.[0]?.text ?? "The server failed. Its terminal says why." }]);
  if (!answer.ok || !told) throw new Refused(told?.faults ?? []);
  return told;
}

/** Return the words of an error that is meant for people; others are faults of the page, and go on. @param {unknown} error */
export function wordsOf(error) {
  if (error instanceof Refused || error instanceof Away || error instanceof Stale) return error.message;
  throw error;
}
