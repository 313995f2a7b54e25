// Questions of the pages Today, Brief and Book.
import { api_get, api_post, api_post_bytes } from "./api";
import type { Approval, Option, SeenChange } from "./offer";

export interface Standing {
  name: string;
  title: string;
  act: number;
  person: string;
  at: string;
  gate: string;
  step: string;
  date: string;
  next: string;
  next_step: string;
  questions: number;
  questions_now: number;
  options: number;
  notes: number;
  waiting_s: number;
  approved_by: string;
  approved_at: string;
}
export interface Today {
  shop: string;
  now_s: number;
  all: number; // jobs there are
  found: number; // with the words
  jobs: Standing[]; // of those, the ones touched last
}
export interface Question {
  question: string;
  asks: string;
  gate: string;
  answer: string;
  rank: number;
}
export interface Gate {
  gate: string;
  rank: number;
  step: string;
  passed: string;
  evidence: string;
}
export interface Brief {
  act: number;
  questions: Question[];
  gates: Gate[];
  options: Option[];
  panel: boolean;
  approval: Approval | null;
}
export interface Figure {
  name: string;
  before: number | null;
  after: number | null;
}
export interface Moved {
  complete: boolean;
  boxes_gone: string[];
  boxes_come: string[];
  wires_gone: string[];
  wires_come: string[];
  wires_other: number;
  labels_other: number;
  masses: Figure[];
  loads: Figure[];
  findings: { came: boolean; severity: string; rule: string; key: string; message: string }[];
  findings_other: number;
  panel: { kind: string; key: string; what: string }[];
}
export interface Link {
  link: number;
  person: string;
  what: string;
  made_s: number;
  ends_s: number;
  used_s: number;
  ended: boolean;
}
export interface Pack {
  pack: number;
  person: string;
  at: string;
  what: string;
  ends_s: number;
}
export interface Taken {
  pack: number;
  approved: boolean;
  again: boolean;
  holds: boolean;
  answers: number;
  changes: SeenChange[];
}
export interface BookRow {
  book: number;
  hash: string;
  revision: string;
  act: number;
  person: string;
  at: string;
  pages: number;
  bytes: number;
}
export interface Books {
  books: BookRow[];
  now: {
    running: boolean;
    elsewhere?: string;
    what?: string;
    done?: number;
    of?: number;
    problem?: string;
  } | null;
}

export const brief_api = {
  today: (words: string, most: number) =>
    api_get<Today>("/api/today", { words, most: String(most) }),
  brief: (job: string) => api_get<Brief>("/api/brief", { job }),
  weigh: (job: string, option: string, chosen: string) =>
    api_get<Moved>("/api/weigh", { job, option, chosen }),
  choose: (job: string, option: string, chosen: string) =>
    api_post<{ act: number; moved: Moved }>("/api/choose", { job, option, chosen, what: "" }),
  link: (job: string, what: string, days: number) =>
    api_post<{ desk: string; path: string; ends_s: number }>("/api/link", { job, what, days }),
  links: (job: string) =>
    api_get<{ now_s: number; links: Link[]; packs: Pack[] }>("/api/links", { job }),
  end_link: (job: string, link: number) => api_post("/api/link/end", { job, link }),
  pack: (job: string, what: string) => api_post_bytes("/api/pack", { job, what }),
  code: (job: string, code: string, name: string) =>
    api_post<Taken>("/api/code", { job, code, name }),
  books: (job: string) => api_get<Books>("/api/books", { job }),
  book: (job: string) => api_post("/api/book", { job }),
  stop_book: (job: string) => api_post("/api/book/stop", { job }),
};
