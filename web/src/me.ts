// Who sits here: known by a session that scripts can't see. Where nobody signs in, everybody designs.
import { computed, effect, signal } from "@preact/signals";
import { get, post, when_refused } from "./api";

export type Role = "designer" | "bench" | "buyer" | "customer" | "";
export interface Me {
  person: string;
  role: Role;
  signs_in: boolean;
}
export interface Person {
  name: string;
  role: Role;
  password: boolean;
  made: string;
  ended: string;
}
export interface Visit {
  visit: number;
  at: string;
  kind: string;
  person: string;
  address: string;
  what: string;
}
type People = { people: Person[] };

export const me = signal<Me | null>(null); // null: not known yet
export const is_out = computed(() => me.value?.role === "");
export const designs = computed(() => me.value?.role === "designer");

export const door = {
  me: () => get<Me>("/api/me"),
  sign_in: (name: string, password: string) => post<Me>("/api/sign-in", { name, password }),
  sign_out: () => post<Me>("/api/sign-out", {}),
  password: (now: string, next: string) => post<Me>("/api/password", { now, next }),
  people: () => get<People>("/api/people"),
  admit: (name: string, role: string, password: string) =>
    post<People>("/api/people/admit", { name, role, password }),
  dismiss: (name: string) => post<People>("/api/people/dismiss", { name }),
  role: (name: string, role: string) => post<People>("/api/people/role", { name, role }),
  new_password: (name: string, password: string) =>
    post<People>("/api/people/password", { name, password }),
  visits: () => get<{ visits: Visit[] }>("/api/door"),
};

// A tablet that is loaded anew while the desk does not answer goes on as who sat before it: what it
// keeps is shown and its ticks wait. It is a name and a role, no right: the desk asks again.
const KEPT = "marling-me";

effect(() => {
  const now = me.value;
  try {
    if (now !== null && now.role !== "") {
      localStorage.setItem(KEPT, JSON.stringify(now));
    } else if (now !== null) {
      localStorage.removeItem(KEPT);
    }
  } catch {
    // no room, or not allowed: then it is not known while the desk is away
  }
});

export function remembered(): Me | null {
  try {
    return JSON.parse(localStorage.getItem(KEPT) ?? "null") as Me | null;
  } catch {
    return null;
  }
}

// A session that ended elsewhere: the page goes back to the door.
when_refused((code) => {
  if (code === 401 && me.value?.signs_in) {
    me.value = { ...me.value, person: "", role: "" };
  }
});

// Entries of the bench that this page alone has, where the browser keeps nothing: then nothing throws
// the page away, and only the screen is cleared.
export const only_copy = signal(false);

addEventListener("beforeunload", (event) => {
  if (only_copy.value) {
    event.preventDefault();
  }
});

// What was on the screen goes with the session.
export async function leave(): Promise<void> {
  me.value = await door.sign_out();
  if (!only_copy.value) {
    location.hash = "";
    location.reload();
  }
}
