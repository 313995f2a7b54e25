// The door: name and password, and how long to wait after too many wrong ones.
import { useEffect, useRef, useState } from "preact/hooks";
import { Refused } from "./api";
import { queue, recall } from "./bench_data";
import { door, me } from "./me";

// What builders did here while the desk was away, by whose names.
function Held() {
  useEffect(() => void recall(), []);
  const of = new Map<string, number>();
  for (const { row } of queue.value) {
    of.set(`${row.person}`, (of.get(`${row.person}`) ?? 0) + 1);
  }
  return (
    <>
      {[...of].map(([person, count]) => (
        <p class="tell" role="status" key={person}>
          {count} {count === 1 ? "entry" : "entries"} by {person} {count === 1 ? "waits" : "wait"} on
          this tablet, to be sent when {person} signs in.
        </p>
      ))}
    </>
  );
}

export function SignIn() {
  const [name, set_name] = useState("");
  const [password, set_password] = useState("");
  const [problem, set_problem] = useState("");
  const [wait_s, set_wait_s] = useState(0);
  const [busy, set_busy] = useState(false);
  const first = useRef<HTMLInputElement>(null);
  useEffect(() => first.current?.focus(), []);
  useEffect(() => {
    if (wait_s > 0) {
      const timer = setTimeout(() => set_wait_s(wait_s - 1), 1000);
      return () => clearTimeout(timer);
    }
    return undefined;
  }, [wait_s]);
  const enter = async (event: Event) => {
    event.preventDefault();
    set_busy(true);
    set_problem("");
    try {
      me.value = await door.sign_in(name.trim(), password);
    } catch (error) {
      if (!(error instanceof Refused)) {
        throw error;
      }
      set_password("");
      set_wait_s(error.refusal.wait_s ?? 0);
      set_problem(error.refusal.error);
    } finally {
      set_busy(false);
    }
  };
  return (
    <div class="plain door">
      <h1>Marling</h1>
      <Held />
      <form onSubmit={(event) => void enter(event)}>
        <label>
          Name
          <input
            ref={first}
            name="name"
            autocomplete="username"
            value={name}
            onInput={(event) => set_name(event.currentTarget.value)}
            required
          />
        </label>
        <label>
          Password
          <input
            name="password"
            type="password"
            autocomplete="current-password"
            value={password}
            onInput={(event) => set_password(event.currentTarget.value)}
            required
          />
        </label>
        <button type="submit" disabled={busy || wait_s > 0}>
          {wait_s > 0 ? `wait ${wait_s} s` : busy ? "looking ..." : "sign in"}
        </button>
        <p class="tell" role="alert">
          {problem}
        </p>
      </form>
      <p class="quiet">
        Whoever keeps the shop file lets people in: <code>marling admit SHOP NAME ROLE</code>, or a
        designer on the page People.
      </p>
      <p class="quiet">
        <a href="/trust">Let this device know the desk</a>
      </p>
    </div>
  );
}
