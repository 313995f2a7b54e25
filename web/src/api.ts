// Questions to the desk. A refusal is thrown with what would do.

export interface Column {
  name: string;
  kind: "text" | "ref" | "list" | "word" | "real" | "int" | "awg" | "flag";
  key: boolean;
  need: boolean;
  unit: string;
  meaning: string;
  extra?: string;
}
export interface Table {
  name: string;
  group: "job" | "library" | "result";
  meaning: string;
  columns: Column[];
}
export type Cell = string | number | boolean | null;
export type Row = Record<string, Cell>;
export interface Rows {
  act: number;
  rows: Row[];
  acts?: number[];
}
export interface JobInfo {
  name: string;
  act: number;
  person: string;
  at: string;
}
export interface JobState {
  act: number;
  library: number;
  complete: boolean;
  title: string;
  open: Record<string, number>;
  phases: string[];
}
export interface SheetName {
  name: string;
  title: string;
  part: string;
}

export interface SheetNames {
  act: number;
  problem: string | null;
  all: boolean; // false: the diagrams alone, as the rest is still being laid out
  sheets: SheetName[];
}
export interface Found {
  table: string;
  key: string;
  about: string;
}
export interface Act {
  act: number;
  kind: string;
  state: string;
  about: number;
  person: string;
  at: string;
  what: string;
  rows: number;
}
export interface Revision {
  name: string;
  hash: string;
  act: number;
  person: string;
  at: string;
  what: string;
}
// What views of the aircraft are drawn from; rows as lists, for there are many.
export interface Geometry {
  act: number;
  nodes: [string, number | null, number | null, number | null, string, string, string][];
  segments: [
    string,
    number | null,
    number | null,
    string,
    number | null,
    number | null,
    number,
    number,
  ][];
  things: [string, string, number | null, string][];
  shells: [string, string, number | null, number | null][];
  passes: [number, string][];
  cables: [string, number[], [string, string, string][]][];
  zones: [string, string, number | null][];
}
export interface TrialPort {
  end: string;
  unit: string;
  in_use: boolean;
}
export interface TrialBattery {
  unit: string;
  capacity_ah: number;
  usable_new: number;
  usable_aged: number;
  amps_a: number;
  before_a: number;
  new_min: number | null;
  aged_min: number | null;
  source: string;
}
export interface TrialPhase {
  phase: string;
  status: string;
  functions: string;
  lowest: string;
  noticed: string;
  note: string;
  dark: TrialPort[];
  restarted: TrialPort[];
  gained: TrialPort[];
  wires: string[];
  units: string[];
  buses: string[];
  opened: { device: string; seconds: number; percent: number }[];
  needs: { need: string; title: string; severity: string }[];
  batteries: TrialBattery[];
}
export interface Trial {
  act: number;
  items: { item: string; mode: string; meaning: string; modes: string[] }[];
  phases: TrialPhase[];
  switches: { item: string; what: string; position: string; choices: string[] }[];
}
export interface Edit {
  table: string;
  before?: Row;
  after?: Record<string, string>;
  seen?: number;
}

export interface Refusal {
  error: string;
  nearest?: string;
  person?: string;
  at?: string;
  column?: string;
  wait_s?: number; // too many tries
  cells?: { edit: number; column: string; value: string; expected: string }[];
}

export const NO_ANSWER = "the desk does not answer: is it still running?";

export class Refused extends Error {
  constructor(
    readonly code: number,
    readonly refusal: Refusal,
  ) {
    super(refusal.error);
  }
}

let on_refused: (code: number) => void = () => undefined;

// Called with the status of every refusal, before it is thrown.
export function when_refused(work: (code: number) => void): void {
  on_refused = work;
}

async function ask(path: string, init?: RequestInit): Promise<Response> {
  let response: Response;
  try {
    response = await fetch(path, init);
  } catch {
    throw new Refused(0, { error: NO_ANSWER });
  }
  if (!response.ok) {
    let refusal: Refusal = { error: `the desk refused (${response.status})` };
    try {
      refusal = (await response.json()) as Refusal;
    } catch {
      // no JSON: the general words stay
    }
    on_refused(response.status);
    throw new Refused(response.status, refusal);
  }
  return response;
}

function query(path: string, values: Record<string, string>): string {
  return `${path}?${new URLSearchParams(values)}`;
}

export async function get<T>(path: string, values: Record<string, string> = {}): Promise<T> {
  return (await (await ask(query(path, values))).json()) as T;
}

async function getText(path: string, values: Record<string, string>): Promise<string> {
  return (await ask(query(path, values))).text();
}

export async function post<T>(path: string, body: unknown): Promise<T> {
  const init = {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(body),
  };
  return (await (await ask(path, init)).json()) as T;
}

// For questions that other files have.
export const api_get = get;
export const api_post = post;

export async function api_post_bytes(path: string, body: unknown): Promise<ArrayBuffer> {
  const init = {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(body),
  };
  return (await ask(path, init)).arrayBuffer();
}

export const api = {
  shop: () => get<{ shop: string; program: string; jobs: JobInfo[] }>("/api/shop"),
  schema: () => get<{ tables: Table[] }>("/api/schema"),
  job: (job: string) => get<JobState>("/api/job", { job }),
  table: (job: string, table: string) => get<Rows>("/api/table", { job, table }),
  sheets: (job: string) =>
    get<SheetNames>("/api/sheets", { job }),
  sheet: (job: string, sheet: string) => getText("/api/sheet", { job, sheet }),
  why: (job: string, key: string) => getText("/api/why", { job, key }),
  fail: (job: string, keys: string, phase: string) => getText("/api/fail", { job, keys, phase }),
  geometry: (job: string) => get<Geometry>("/api/geometry", { job }),
  drawn: (job: string, key: string) =>
    get<{ act: number; sheets: string[] }>("/api/drawn", { job, key }),
  trial: (job: string, keys: string, phase: string, settings: string) =>
    get<Trial>("/api/trial", { job, keys, phase, settings }),
  search: (job: string, words: string) =>
    get<{ act: number; found: Found[] }>("/api/search", { job, words }),
  log: (job: string) => get<{ acts: Act[]; revisions: Revision[] }>("/api/log", { job }),
  edit: (job: string, what: string, edits: Edit[]) =>
    post<{ act: number }>("/api/edit", { job, what, edits }),
  undo: (job: string) => post<{ act: number }>("/api/undo", { job }),
  redo: (job: string) => post<{ act: number }>("/api/redo", { job }),
  keep: (job: string, name: string, what: string) =>
    post<{ name: string; hash: string }>("/api/keep", { job, name, what }),
};
