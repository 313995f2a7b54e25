// Where the reader is and what the desk last said. Pages hang on these and draw themselves anew.
import { computed, effect, signal } from "@preact/signals";
import { door, is_out, me, only_copy, remembered } from "./me";
import { api, NO_ANSWER, Refused, type JobInfo, type JobState, type SheetName, type Table } from "./api";

export interface Place {
  job: string; // "" at the list of jobs
  kind: "today" | "people" | "sheet" | "table" | "proof" | "panel" | "log" | "aircraft" | "fail" | "brief" | "book" | "bench";
  name: string; // of a sheet or table
}

export const jobs = signal<JobInfo[] | null>(null);
export const shop = signal("");
export const tables = signal<Table[]>([]);
export const job_state = signal<JobState | null>(null);
export const sheets = signal<SheetName[]>([]);
export const sheets_problem = signal("");
export const selected = signal(""); // key of the thing that is lit everywhere
export const asked_column = signal(""); // of a table, whose figure was touched
export const finding = signal(false); // the line that finds things is open
export const message = signal(""); // what went wrong last
export const online = signal(true);
export const changes = signal(0); // rises with every change that the desk tells

function read_place(): Place {
  const [job = "", kind = "", ...rest] = location.hash
    .replace(/^#\/?/, "")
    .split("/")
    .map(decodeURIComponent);
  const known = ["sheet", "table", "proof", "panel", "log", "aircraft", "fail", "brief", "book", "bench"].includes(kind);
  return {
    job,
    kind: job === "" ? (kind === "people" ? "people" : "today") : known ? (kind as Place["kind"]) : "sheet",
    name: rest.join("/"),
  };
}

export const place = signal<Place>(read_place());
addEventListener("hashchange", () => {
  place.value = read_place();
});

export function link(job: string, kind: Place["kind"], name = ""): string {
  return `#/${[job, kind, name].map(encodeURIComponent).join("/")}`;
}

export function go(job: string, kind: Place["kind"], name = ""): void {
  location.hash = link(job, kind, name);
}

export const current_job = computed(() => place.value.job);

// Carries out what may be refused; the words of the refusal go to the strip and stay there until
// somebody has read them.
export async function attempt<T>(work: () => Promise<T>): Promise<T | undefined> {
  try {
    return await work();
  } catch (error) {
    if (!(error instanceof Refused)) {
      throw error;
    }
    const { error: words, nearest, person, at, column, cells } = error.refusal;
    const first = cells?.[0];
    message.value =
      words +
      (first ? `: ${first.column} "${first.value}", wanted ${first.expected}` : "") + (nearest ? `; did you mean ${nearest}?` : "") + (column ? `: ${column}` : "") + (person ? ` (${person}, ${at})` : "");
    return undefined;
  }
}

async function refresh_job(job: string): Promise<void> {
  const state = await attempt(() => api.job(job));
  if (current_job.value !== job) {
    return;
  }
  job_state.value = state ?? null;
  await refresh_sheets(job);
}

// The diagrams are there at once, the rest when it is laid out: until then its names stay as they
// were.
async function refresh_sheets(job: string): Promise<void> {
  const list = await attempt(() => api.sheets(job));
  if (current_job.value !== job || !list) {
    return;
  }
  if (list.all || sheets.value.length === 0 || list.problem !== null) {
    sheets.value = list.sheets;
  }
  sheets_problem.value = list.problem ?? "";
}

async function refresh_shop(): Promise<void> {
  const answer = await attempt(() => api.shop());
  if (answer) {
    jobs.value = answer.jobs;
    shop.value = answer.shop;
  }
}

const LISTEN_AGAIN_MS = 2000;

// Who sits here; as it was last time, while the desk does not answer.
async function know(): Promise<void> {
  try {
    const answer = await door.me();
    if (me.value === null) {
      message.value = "";
    }
    me.value = answer;
  } catch (error) {
    if (!(error instanceof Refused)) {
      throw error;
    }
    if (me.value === null) {
      message.value = error.refusal.error;
      me.value = error.code === 0 ? remembered() : null;
    }
    if (me.value === null) {
      setTimeout(() => void know(), LISTEN_AGAIN_MS);
    }
  }
}

async function know_again(): Promise<void> {
  await know();
  if (!is_out.value) {
    listen();
  }
}

let stream: EventSource | null = null;

function listen(): void {
  stream?.close();
  const events = new EventSource("/api/events");
  stream = events;
  events.onopen = () => {
    if (!online.value) {
      changes.value++; // something may have been missed
      if (message.value.startsWith(NO_ANSWER)) {
        message.value = "";
      }
    }
    online.value = true;
  };
  events.onerror = () => {
    online.value = false;
    if (events.readyState === EventSource.CLOSED) {
      setTimeout(() => void know_again(), LISTEN_AGAIN_MS); // refused: the session may be over
    }
  };
  events.onmessage = () => {
    changes.value++;
  };
  events.addEventListener("derived", () => {
    if (current_job.value !== "") {
      void refresh_sheets(current_job.value);
    }
  });
}

export async function start(): Promise<void> {
  await know();
  let begun = false;
  let known_before = false;
  effect(() => {
    const known = me.value !== null && !is_out.value;
    if (known && !known_before) {
      if (begun) {
        listen();
      } else {
        void begin();
      }
      begun = true;
    }
    if (!known && known_before && !only_copy.peek()) {
      location.reload(); // what was on the screen goes with the session
    }
    known_before = known;
  });
}

async function begin(): Promise<void> {
  listen();
  const schema = await attempt(() => api.schema());
  tables.value = schema?.tables ?? [];
  effect(() => {
    void changes.value;
    void refresh_shop();
    const job = current_job.value;
    if (job !== "") {
      void refresh_job(job);
    } else {
      job_state.value = null;
      sheets.value = [];
    }
  });
  effect(() => {
    document.title = current_job.value === "" ? "Marling" : `${current_job.value} - Marling`;
    selected.value = "";
  });
}

// "1 error", "16 warnings"; "2 unreadable".
export function counted(count: number, severity: string): string {
  return `${count} ${severity}${count === 1 || severity === "unreadable" ? "" : "s"}`;
}
