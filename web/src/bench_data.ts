// What the bench page knows: the module's work and what was done, from the desk or from this tablet;
// and the queue of what the desk has not acknowledged. A row gets its key here, once for ever: it is
// sent again until the desk says that it is kept, and stands there once whatever was sent how often.
import { computed, effect, signal } from "@preact/signals";
import { get, post, Refused } from "./api";
import { door, me, only_copy } from "./me";

export interface Operation {
  name: string;
  who: string;
  per: string;
}
export interface Item {
  op: string;
  key: string;
  built: string;
  leaf: string;
  min: number;
  piece: string;
  end: number; // 1, 2; 0: no end
  pull: Pull | null; // samples to pull
}
export interface Pull {
  contact: string;
  awg: string;
  tool: string;
  samples: number;
  source: string;
  least_n: number | null;
}
export interface Piece {
  wire: string;
  number: string;
  net: string;
  part: string;
  cut_as: string;
  from: string;
  to: string;
  leaf1: string;
  leaf2: string;
  reel: string;
  colour: string;
  awg: string;
  cut_mm: number | null;
  minus_mm: number | null;
  plus_mm: number | null;
  way: number[];
}
export interface End {
  at: string;
  contact: string;
  slide_on: string;
  cut_back: string;
  tool: string;
  insert: string;
  gap: string;
  note: string;
  strip_mm: number | null;
  least_n: number | null;
}
export interface Face {
  name: string;
  form: "d" | "circle" | "block" | "coax" | "studs" | "leads";
  half: "pins" | "sockets";
  measured: boolean;
  w: number;
  h: number;
  pitch: number;
  ways: [string, number, number][];
}
export interface Board {
  w: number;
  h: number;
  seen: string;
  arms: { name: string; leaves: string[]; line: number[] }[]; // leaves: of a stub
}
export interface Work {
  act: number;
  module: string;
  name: string;
  ops: Record<string, Operation>;
  items: Item[];
  pieces: Record<string, Piece>;
  ends: Record<string, End>;
  faces: Record<string, Face>;
  board: Board;
}
export interface Step {
  step: number;
  kind: string;
  a: string;
  b: string;
  wires: string;
  mode: string;
  note: string;
  measured: string; // hash: a reading with another one is none of this step
  expected: number | null;
  low: number | null;
  high: number | null;
}
export interface Cause {
  rank: number;
  member: number;
  errors: number;
  cause: string;
  look: string;
  next: string;
}
export interface Ring {
  act: number;
  module: string; // or INSTALLED
  design: string; // hash of all steps: for readings beside them
  steps: Step[];
  words: string;
  causes: Cause[];
  strange: string[];
}
export interface Read {
  steps: number;
  good: number;
  bad: number;
  earlier: number; // of an earlier design: they count for nothing
}
export interface Progress extends Read {
  total_min: number;
  made_min: number;
  proven_min: number;
  shippable_min: number;
  items: number;
  ticked: number;
  own: number;
  problems: number;
  rebuilt: number;
}
export interface Modules {
  act: number;
  modules: { module: string; name: string; progress: Progress }[];
  installed: Read;
}
// All modules mated in the aircraft: it has readings, and no work.
export const INSTALLED = "installed";
export type Value = string | number | boolean | null;
export type BenchRow = Record<string, Value>;
export type TableName = "bench_tick" | "bench_reading" | "bench_note" | "bench_photo";
export type Kept = Record<TableName, BenchRow[]>;

interface Waiting {
  seq?: number;
  job: string;
  table: TableName;
  row: BenchRow;
  data?: string; // a picture, as base64
}

const KEYS: Record<TableName, string> = {
  bench_tick: "tick",
  bench_reading: "reading",
  bench_note: "note",
  bench_photo: "photo",
};
const NOTHING: Kept = { bench_tick: [], bench_reading: [], bench_note: [], bench_photo: [] };

export const work = signal<Work | null>(null);
export const ring = signal<Ring | null>(null);
export const modules = signal<Modules | null>(null);
export const kept = signal<Kept>(NOTHING);
export const queue = signal<Waiting[]>([]);
export const refused = signal<{ words: string; row: BenchRow }[]>([]);
export const reachable = signal(true);
export const trouble = signal(""); // why the desk does not take what is sent
export const stays = signal(false); // the page opens again without the desk
export const lasts = signal(true); // this tablet keeps the queue when the page is closed

effect(() => {
  only_copy.value = !lasts.value && queue.value.length > 0;
});

// --- this tablet's own memory -------------------------------------------------------------------

let base: IDBDatabase | null = null;

function opened(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open("marling-bench", 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("queue", { keyPath: "seq", autoIncrement: true });
      asked.result.createObjectStore("answers");
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error ?? new Error("no room"));
  });
}

// Resolves once it is written.
function write(store: "queue" | "answers", change: (at: IDBObjectStore) => IDBRequest): Promise<unknown> {
  return new Promise((resolve, reject) => {
    if (base === null) {
      resolve(undefined);
      return;
    }
    const doing = base.transaction(store, "readwrite", { durability: "strict" });
    const asked = change(doing.objectStore(store));
    doing.oncomplete = () => resolve(asked.result);
    doing.onerror = () => reject(doing.error ?? new Error("not written"));
    doing.onabort = () => reject(doing.error ?? new Error("not written"));
  });
}

function read<T>(store: "queue" | "answers", key: string | null): Promise<T | undefined> {
  return new Promise((resolve) => {
    if (base === null) {
      resolve(undefined);
      return;
    }
    const at = base.transaction(store).objectStore(store);
    const asked = key === null ? at.getAll() : at.get(key);
    asked.onsuccess = () => resolve(asked.result as T);
    asked.onerror = () => resolve(undefined);
  });
}

// --- questions, with the last answer kept -------------------------------------------------------

async function ask<T>(path: string, values: Record<string, string>): Promise<T | undefined> {
  const name = `${path}?${new URLSearchParams(values)}`;
  try {
    const answer = await get<T>(path, values);
    reachable.value = true;
    await write("answers", (at) => at.put(answer, name)).catch(() => undefined);
    return answer;
  } catch (error) {
    if (!(error instanceof Refused)) {
      throw error;
    }
    if (error.code !== 0) {
      trouble.value = error.refusal.error;
      return undefined;
    }
    reachable.value = false;
    return read<T>("answers", name);
  }
}

let job = "";

export async function refresh_modules(): Promise<void> {
  const answer = await ask<Modules>("/api/bench/progress", { job });
  modules.value = answer ?? modules.value;
}

export async function refresh_work(module: string): Promise<void> {
  if (work.value?.module !== module) {
    work.value = null;
  }
  const answer = await ask<Work>("/api/bench/work", { job, module });
  work.value = answer ?? work.value;
}

export async function refresh_ring(module: string): Promise<void> {
  if (ring.value?.module !== module) {
    ring.value = null;
  }
  const answer = await ask<Ring>("/api/bench/ring", { job, module });
  ring.value = answer ?? ring.value;
}

export async function refresh_kept(): Promise<void> {
  const answer = await ask<Kept>("/api/bench/kept", { job });
  kept.value = answer ?? kept.value;
}

// --- adding and sending -------------------------------------------------------------------------

function new_key(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(9));
  const tail = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return `${Date.now()}-${tail}`;
}

export const own_name = signal(localStorage.getItem("marling-bench-person") ?? "");

export const person = computed(() =>
  me.value?.signs_in ? me.value.person : own_name.value || (me.value?.person ?? ""),
);

export function call_oneself(name: string): void {
  own_name.value = name.trim();
  localStorage.setItem("marling-bench-person", own_name.value);
}

// The row is on this tablet when this resolves, and is sent by and by.
export async function add(table: TableName, row: BenchRow, data?: string): Promise<void> {
  const waiting: Waiting = {
    job,
    table,
    row: {
      ...row,
      [KEYS[table]]: new_key(),
      person: person.value || "somebody",
      time: new Date().toISOString(),
    },
    ...(data === undefined ? {} : { data }),
  };
  try {
    const seq = await write("queue", (at) => at.add(waiting));
    queue.value = [...queue.value, { ...waiting, seq: seq as number }];
  } catch {
    lasts.value = false;
    queue.value = [...queue.value, waiting];
  }
  void send();
}

async function drop(keys: Set<Value | undefined>): Promise<void> {
  const gone = queue.value.filter((one) => keys.has(one.row[KEYS[one.table]]));
  queue.value = queue.value.filter((one) => !gone.includes(one));
  for (const one of gone) {
    const seq = one.seq;
    if (seq !== undefined) {
      await write("queue", (at) => at.delete(seq)).catch(() => undefined);
    }
  }
}

let sending = false;
let again: ReturnType<typeof setTimeout> | undefined;

// Those of one job that go next: pictures one by one. What another person ticked waits until that
// person has signed in: the desk writes down who sends.
function next_batch(): Waiting[] {
  const mine = queue.value.filter((one) => !me.value?.signs_in || one.row.person === person.value);
  const first = mine[0];
  if (first === undefined || first.data !== undefined) {
    return first === undefined ? [] : [first];
  }
  const batch: Waiting[] = [];
  for (const one of mine) {
    if (one.job !== first.job || one.data !== undefined || batch.length === 50) {
      break;
    }
    batch.push(one);
  }
  return batch;
}

// In the order in which they were added; what was acknowledged moves from the queue to what is kept.
export async function send(): Promise<void> {
  if (sending) {
    return;
  }
  sending = true;
  clearTimeout(again);
  let sent = false;
  try {
    if (me.value === null) {
      me.value = await door.me();
    }
    for (let batch = next_batch(); batch.length > 0; batch = next_batch()) {
      const rows = batch.map(({ table, row, data }) => ({ table, row, ...(data ? { data } : {}) }));
      const answer = await post<{ kept: string[]; refused: { key: string; error: string }[] }>(
        "/api/bench/add",
        { job: batch[0]?.job, rows },
      );
      reachable.value = true;
      trouble.value = "";
      const next = { ...kept.value };
      for (const one of batch) {
        const key = one.row[KEYS[one.table]];
        const problem = answer.refused.find((fault) => fault.key === key);
        if (problem) {
          refused.value = [...refused.value, { words: problem.error, row: one.row }];
        } else if (one.job === job) {
          next[one.table] = [...next[one.table], one.row];
        }
      }
      kept.value = next;
      await drop(new Set(batch.map((one) => one.row[KEYS[one.table]])));
      sent = true;
    }
    reachable.value = true;
  } catch (error) {
    if (!(error instanceof Refused)) {
      throw error;
    }
    reachable.value = error.code !== 0;
    trouble.value = error.code === 0 ? "" : error.refusal.error;
    again = setTimeout(() => void send(), 3000);
  } finally {
    sending = false;
  }
  if (sent) {
    for (const hear of sent_hooks) {
      hear();
    }
  }
}

const sent_hooks = new Set<() => void>();

export function when_sent(hear: () => void): () => void {
  sent_hooks.add(hear);
  return () => sent_hooks.delete(hear);
}

// --- all that was done, sent or not -------------------------------------------------------------

function rows_of(table: TableName): BenchRow[] {
  const there = kept.value[table];
  const known = new Set(there.map((row) => row[KEYS[table]]));
  const waiting = queue.value
    .filter((one) => one.job === job && one.table === table && !known.has(one.row[KEYS[table]] ?? null))
    .map((one) => one.row);
  return [...there, ...waiting].sort((a, b) => (`${a.time}` < `${b.time}` ? -1 : 1));
}

function standing(rows: BenchRow[], key: string, takes_back: string): BenchRow[] {
  const undone = new Set(rows.map((row) => row[takes_back]).filter((undoes) => undoes));
  return rows.filter((row) => !row[takes_back] && !undone.has(row[key] ?? null));
}

export const ticks = computed(() => standing(rows_of("bench_tick"), "tick", "undoes"));
export const readings = computed(() => standing(rows_of("bench_reading"), "reading", "undoes"));
export const problems = computed(() => standing(rows_of("bench_note"), "note", "settles"));
export const photos = computed(() => rows_of("bench_photo"));

// By "operation key": the tick that counts.
export const done = computed(() => {
  const of = new Map<string, BenchRow>();
  const built = new Map(work.value?.items.map((item) => [`${item.op} ${item.key}`, item.built]));
  for (const row of ticks.value) {
    const name = `${row.operation} ${row.item ?? ""}`;
    if (row.module === work.value?.module && built.get(name) === (row.built ?? "")) {
      of.set(name, row);
    }
  }
  return of;
});

// Readings of the script that is shown. Those of another design are told, and count for nothing.
export const measured = computed(() => {
  const script = ring.value;
  const of = new Map<string, BenchRow>();
  const earlier: BenchRow[] = [];
  const known = new Set([script?.design, ...(script?.steps.map((step) => step.measured) ?? [])]);
  for (const row of readings.value) {
    if (script && (row.module || INSTALLED) === script.module) {
      if (known.has(`${row.measured ?? ""}`)) {
        of.set(`${row.measured}`, row);
      } else {
        earlier.push(row);
      }
    }
  }
  return { of, earlier };
});

// --- beginning ----------------------------------------------------------------------------------

let recalled: Promise<void> | null = null;

async function open_memory(): Promise<void> {
  try {
    base = await opened();
    void navigator.storage?.persist?.();
  } catch {
    lasts.value = false; // a private window, say
  }
  queue.value = [...((await read<Waiting[]>("queue", null)) ?? []), ...queue.value];
}

// What waits on this tablet is known when this resolves.
export function recall(): Promise<void> {
  recalled ??= open_memory();
  return recalled;
}

let begun = false;

export async function begin(for_job: string): Promise<void> {
  if (job !== for_job) {
    job = for_job;
    kept.value = NOTHING;
    work.value = null;
    ring.value = null;
    modules.value = null;
  }
  if (!begun) {
    begun = true;
    await recall();
    if ("serviceWorker" in navigator && isSecureContext) {
      try {
        await navigator.serviceWorker.register("/sw.js");
        await navigator.serviceWorker.ready;
        stays.value = true;
      } catch {
        stays.value = false;
      }
    }
    addEventListener("online", () => void send());
    setInterval(() => void send(), 5000);
  }
  await refresh_kept();
  void send();
}
