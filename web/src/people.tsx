// Oneself and, for designers, who works here and who came to the door.
import { useEffect, useState } from "preact/hooks";
import { designs, door, leave, me, type Person, type Visit } from "./me";
import { attempt, message } from "./state";

const ROLES = ["designer", "bench", "buyer"];

function when(at: string): string {
  return at.replace("T", " ").replace("Z", "");
}

function Secret(props: { label: string; value: string; set: (text: string) => void; own?: boolean }) {
  return (
    <label>
      {props.label}
      <input
        type="password"
        autocomplete={props.own ? "current-password" : "new-password"}
        value={props.value}
        onInput={(event) => props.set(event.currentTarget.value)}
        required
      />
    </label>
  );
}

function Oneself() {
  const [now, set_now] = useState("");
  const [next, set_next] = useState("");
  const change = async (event: Event) => {
    event.preventDefault();
    const done = await attempt(() => door.password(now, next));
    if (done) {
      message.value = "your password is another now; your other sessions have ended";
      set_now("");
      set_next("");
    }
  };
  return (
    <section>
      <h1>
        {me.value?.person} <span class="quiet">{me.value?.role}</span>
      </h1>
      <p>
        <button type="button" onClick={() => void attempt(leave)}>
          sign out
        </button>
      </p>
      <form class="fields-in-row" onSubmit={(event) => void change(event)}>
        <Secret label="Password now" value={now} set={set_now} own />
        <Secret label="New password, at least 10 characters" value={next} set={set_next} />
        <button type="submit">change it</button>
      </form>
    </section>
  );
}

function Admit(props: { set: (people: Person[]) => void }) {
  const [name, set_name] = useState("");
  const [role, set_role] = useState("bench");
  const [password, set_password] = useState("");
  const admit = async (event: Event) => {
    event.preventDefault();
    const done = await attempt(() => door.admit(name.trim(), role, password));
    if (done) {
      props.set(done.people);
      set_name("");
      set_password("");
    }
  };
  return (
    <form class="fields-in-row" onSubmit={(event) => void admit(event)}>
      <label>
        Name
        <input
          autocomplete="off"
          value={name}
          onInput={(event) => set_name(event.currentTarget.value)}
          required
        />
      </label>
      <label>
        Role
        <select value={role} onChange={(event) => set_role(event.currentTarget.value)}>
          {ROLES.map((one) => (
            <option key={one}>{one}</option>
          ))}
        </select>
      </label>
      <Secret label="First password, at least 10 characters" value={password} set={set_password} />
      <button type="submit">let in</button>
    </form>
  );
}

function Row(props: { person: Person; set: (people: Person[]) => void; open: boolean }) {
  const { person, set, open } = props;
  const [sure, set_sure] = useState(false);
  const gone = person.ended !== "";
  const work = async (what: () => Promise<{ people: Person[] }>) => {
    const done = await attempt(what);
    if (done) {
      set(done.people);
    }
    set_sure(false);
  };
  return (
    <tr class={gone ? "undone" : ""}>
      <td>{person.name}</td>
      <td>
        {gone || !open ? (
          person.role
        ) : (
          <select
            aria-label={`Role of ${person.name}`}
            value={person.role}
            onChange={(event) => {
              const role = event.currentTarget.value;
              event.currentTarget.value = person.role; // until the desk says so
              void work(() => door.role(person.name, role));
            }}
          >
            {ROLES.map((one) => (
              <option key={one}>{one}</option>
            ))}
          </select>
        )}
      </td>
      <td>{when(person.made)}</td>
      <td>{gone ? `left ${when(person.ended)}` : person.password ? "" : "no password yet"}</td>
      <td>
        {!gone && open && !sure && (
          <button type="button" onClick={() => set_sure(true)}>
            dismiss<span class="unseen"> {person.name}</span>
          </button>
        )}
        {!gone && open && sure && (
          <button type="button" onClick={() => void work(() => door.dismiss(person.name))}>
            yes, {person.name} leaves
          </button>
        )}
      </td>
    </tr>
  );
}

function Staff() {
  const [people, set_people] = useState<Person[] | null>(null);
  const open = me.value?.signs_in ?? false;
  useEffect(() => {
    void attempt(door.people).then((answer) => answer && set_people(answer.people));
  }, []);
  return (
    <section>
      <h2>Who works here</h2>
      {open ? (
        <Admit set={set_people} />
      ) : (
        <p>
          This desk is for this machine alone and nobody signs in. People are let in by{" "}
          <code>marling admit SHOP NAME ROLE</code>; then <code>marling serve SHOP --listen 0.0.0.0</code>{" "}
          serves them on their own devices.
        </p>
      )}
      {people?.length === 0 && <p>Nobody yet.</p>}
      {people !== null && people.length > 0 && (
        <div class="wide-table">
          <table class="small">
            <thead>
              <tr>
                <th>name</th>
                <th>role</th>
                <th>since</th>
                <th>state</th>
                <th>
                  <span class="unseen">what can be done</span>
                </th>
              </tr>
            </thead>
            <tbody>
              {people.map((person) => (
                <Row key={person.name + person.made} person={person} set={set_people} open={open} />
              ))}
            </tbody>
          </table>
        </div>
      )}
    </section>
  );
}

function DoorLog() {
  const [visits, set_visits] = useState<Visit[] | null>(null);
  useEffect(() => {
    void attempt(door.visits).then((answer) => answer && set_visits(answer.visits));
  }, []);
  return (
    <section>
      <h2>Who came to the door</h2>
      {visits?.length === 0 && <p>Nobody yet.</p>}
      {visits !== null && visits.length > 0 && (
        <div class="wide-table">
          <table class="small">
            <thead>
              <tr>
                <th>at (UTC)</th>
                <th>what</th>
                <th>who</th>
                <th>from</th>
                <th>more</th>
              </tr>
            </thead>
            <tbody>
              {visits.map((visit) => (
                <tr key={visit.visit}>
                  <td>{when(visit.at)}</td>
                  <td>{visit.kind}</td>
                  <td>{visit.person}</td>
                  <td>{visit.address}</td>
                  <td>{visit.what}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </section>
  );
}

export function People() {
  return (
    <div class="plain people">
      {me.value?.signs_in && <Oneself />}
      {designs.value && <Staff />}
      {designs.value && <DoorLog />}
    </div>
  );
}
