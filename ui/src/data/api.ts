// One way to the server: its addresses with their types, the token for what changes something, the revision a change was made from,
// and every refusal as one kind of error.

import type { Answers, Bodies } from "../wire/api.gen";

export type Address = keyof Answers;
type Sendable = keyof Bodies;

/** One problem as the server says it. */
export interface Problem {
  text: string;
  remedy: string;
  file: string;
  line: number | null;
  column: number | null;
}

/** Something that somebody else changed otherwise meanwhile: what it was, is with you, and is with them; null where nothing stands. */
export interface Clash {
  file: string;
  what: string;
  before: string | null;
  yours: string | null;
  theirs: string | null;
}

/** The server refused; `problems` say what, where, and what to do, `clashes` what overlaps with somebody else's change. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly problems: readonly Problem[],
    readonly clashes: readonly Clash[] = [],
  ) {
    super(problems.map((one) => one.text).join("; ") || `status ${status}`);
    this.name = "Refused";
  }

  /** Somebody else was faster. */
  get overtaken(): boolean {
    return this.status === 412;
  }
}

/** The server could not be reached at all. */
export class Away extends Error {
  constructor() {
    super("the server does not answer");
    this.name = "Away";
  }
}

/** What came back: the document, and the revision it speaks of (0 when it speaks of none). */
export interface Got<Document> {
  document: Document;
  revision: number;
}

export interface Asking {
  /** Values for the places in braces of the address. */
  at?: Record<string, string | number>;
  /** What stands behind the question mark; what is undefined is left out. */
  query?: Record<string, string | number | undefined>;
  /** The revision the change was made from. */
  basedOn?: number;
  signal?: AbortSignal;
  /** What is read can never change (it is named by a revision or a result): it is fetched once. */
  lasting?: boolean;
}

let token = "";
const listeners = new Set<(away: boolean) => void>();
let isAway = false;

/** The token of the session, as the server gave it. */
export function takeToken(given: string): void {
  token = given;
}

/** Hear when the server goes away and comes back. Gives what ends it. */
export function onAway(listener: (away: boolean) => void): () => void {
  listeners.add(listener);
  listener(isAway);
  return () => listeners.delete(listener);
}

const signedOut = new Set<() => void>();

/** Hear when the server answers that nobody is signed in any more. Gives what ends it. */
export function onSignedOut(listener: () => void): () => void {
  signedOut.add(listener);
  return () => signedOut.delete(listener);
}

/** Tell whether the server was reached just now. */
export function reached(yes: boolean): void {
  if (isAway !== yes) return;
  isAway = !yes;
  for (const listener of listeners) listener(isAway);
}

/** An address with its places filled in. */
export function path(address: string, asking: Asking = {}): string {
  const bare = address.slice(address.indexOf(" ") + 1);
  const filled = bare.replace(/\{(\w+)\}/g, (_, name: string) => {
    const value = asking.at?.[name];
    if (value === undefined) throw new Error(`${address} takes ${name}`);
    return encodeURIComponent(String(value));
  });
  const query = new URLSearchParams();
  for (const [key, value] of Object.entries(asking.query ?? {})) if (value !== undefined) query.set(key, String(value));
  const text = query.toString();
  return text ? `${filled}?${text}` : filled;
}

async function send(address: string, asking: Asking, body?: BodyInit, type?: string): Promise<Response> {
  const response = await sendOnce(address, asking, body, type);
  if (response.ok) return response;
  const refused = await refusal(response);
  if (refused.status === 401 && !address.endsWith(" /api/session")) for (const listener of signedOut) listener();
  // A server that was started anew knows another token. It refused before it did anything, so the same may be sent again.
  if (refused.status !== 403 || address.startsWith("GET ") || !(await tokenIsNew())) throw refused;
  const second = await sendOnce(address, asking, body, type);
  if (!second.ok) throw await refusal(second);
  return second;
}

async function tokenIsNew(): Promise<boolean> {
  const response = await sendOnce("GET /api/session", {});
  if (!response.ok) return false;
  const { token: given }: { token: string } = await response.json();
  if (given === token) return false;
  token = given;
  return true;
}

async function sendOnce(address: string, asking: Asking, body?: BodyInit, type?: string): Promise<Response> {
  const method = address.slice(0, address.indexOf(" "));
  const headers = new Headers();
  if (method !== "GET") headers.set("x-setwright-token", token);
  if (type !== undefined) headers.set("content-type", type);
  if (asking.basedOn !== undefined) headers.set("if-match", `"${asking.basedOn}"`);
  try {
    const response = await fetch(path(address, asking), { method, headers, body: body ?? null, signal: asking.signal ?? null });
    reached(true);
    return response;
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") throw error;
    reached(false);
    throw new Away();
  }
}

async function refusal(response: Response): Promise<Refused> {
  const text = await response.text();
  try {
    const document: { findings?: Problem[]; clashes?: Clash[] } = JSON.parse(text);
    return new Refused(response.status, document.findings ?? [], document.clashes ?? []);
  } catch {
    return new Refused(response.status, [{ text, remedy: "", file: "", line: null, column: null }]);
  }
}

async function got<Document>(response: Response): Promise<Got<Document>> {
  const revision = Number((response.headers.get("etag") ?? "").replaceAll('"', "")) || 0;
  const document: Document = response.status === 204 ? null : await response.json();
  return { document, revision };
}

/** Read a document. Throws Refused or Away. */
export async function read<A extends Address & `GET ${string}`>(address: A, asking: Asking = {}): Promise<Got<Answers[A]>> {
  return got(await send(address, asking));
}

/** Read bytes. Throws Refused or Away. */
export async function bytes(address: Address & `GET ${string}`, asking: Asking = {}): Promise<ArrayBuffer> {
  return (await send(address, asking)).arrayBuffer();
}

/** Send a document. Throws Refused or Away. */
export async function write<A extends Address & Sendable>(address: A, body: Bodies[A], asking: Asking = {}): Promise<Got<Answers[A]>> {
  return got(await send(address, asking, JSON.stringify(body), "application/json"));
}

/** Send files, as a form. Throws Refused or Away. */
export async function upload<A extends Address & `POST ${string}`>(address: A, form: FormData, asking: Asking = {}): Promise<Got<Answers[A]>> {
  return got(await send(address, asking, form));
}

/** Send the bytes of one file. Throws Refused or Away. */
export async function put<A extends Address & `PUT ${string}`>(address: A, body: Blob, asking: Asking = {}): Promise<Got<Answers[A]>> {
  return got(await send(address, asking, body, body.type || "application/octet-stream"));
}

/** Take something out, or end it. Throws Refused or Away. */
export async function remove<A extends Address & `DELETE ${string}`>(address: A, asking: Asking = {}): Promise<Got<Answers[A]>> {
  return got(await send(address, asking));
}
