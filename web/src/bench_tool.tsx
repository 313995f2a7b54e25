// With what a step is done: the tool in hand, the lot of its contacts or wire. Said once, it stays on
// this tablet until something else is said: a tool for each kind of operation and prescribed tool (so
// that another die is never written down for this one), a lot for each contact or wire.
import { signal } from "@preact/signals";
import type { BenchRow, Item, Work } from "./bench_data";

export interface Wanted {
  kind: string; // of operation, with the tool that is prescribed
  tool: string; // prescribed; "" when nothing is
  part: string; // contact or wire of which there are lots; ""
}
type Said = Record<string, string[]>; // what was said last comes first

const KEPT = "marling-bench-with";
const LAST = 5;

function kept(): Said {
  try {
    return JSON.parse(localStorage.getItem(KEPT) ?? "{}") as Said;
  } catch {
    return {};
  }
}

const said = signal<Said>(kept());
export const saying = signal(false);

const tool_key = (wanted: Wanted) => `tool ${wanted.kind}`;
const lot_key = (wanted: Wanted) => `lot ${wanted.part}`;

function last(key: string): string {
  return said.value[key]?.[0] ?? "";
}

function say(key: string, word: string): void {
  const others = (said.value[key] ?? []).filter((one) => one !== word);
  said.value = { ...said.value, [key]: [word, ...others].slice(0, LAST) };
  try {
    localStorage.setItem(KEPT, JSON.stringify(said.value));
  } catch {
    // no room, or not allowed: then it is known while the page stays open
  }
}

export function wanted_of(work: Work, item: Item): Wanted {
  const per = work.ops[item.op]?.per ?? "";
  const end = work.ends[`${item.piece}/${item.end}`];
  const prescribed = item.pull ? item.pull.tool : per === "insert" ? end?.insert : end?.tool;
  return {
    kind: `${item.op} ${prescribed ?? ""}`,
    tool: prescribed ?? "",
    part: item.pull?.contact ?? end?.contact ?? work.pieces[item.piece]?.part ?? "",
  };
}

export const METER: Wanted = { kind: "ringout", tool: "", part: "" };

// Columns of a tick or reading.
export function columns(wanted: Wanted): BenchRow {
  const tool = last(tool_key(wanted));
  const lot = wanted.part === "" ? "" : last(lot_key(wanted));
  return { ...(tool === "" ? {} : { tool }), ...(lot === "" ? {} : { lot }) };
}

export function with_words(row: BenchRow): string {
  return [row.tool, row.lot && `lot ${row.lot}`, row.pull_n && `let go at ${row.pull_n} N`]
    .filter((word) => word)
    .join(", ");
}

function Field({ name, id, about, words }: { name: string; id: string; about: string; words: string }) {
  const list = (said.value[id] ?? []).filter((word) => word !== "");
  return (
    <fieldset>
      <label>
        {name} <small>{about}</small>
        <input name={id} defaultValue={words} autocomplete="off" enterkeyhint="done" />
      </label>
      {list.length > 0 && (
        <p class="last">
          {list.map((word) => (
            <button
              type="button"
              key={word}
              onClick={(event) => {
                const field = event.currentTarget.form?.elements.namedItem(id);
                if (field instanceof HTMLInputElement) {
                  field.value = word;
                }
              }}
            >
              {word}
            </button>
          ))}
        </p>
      )}
    </fieldset>
  );
}

// One wide button that says what will be written down; touched, it asks.
export function With({ wanted, name = "tool" }: { wanted: Wanted; name?: string }) {
  const tool = last(tool_key(wanted));
  const lot = wanted.part === "" ? "" : last(lot_key(wanted));
  if (!saying.value) {
    return (
      <button type="button" class="with" onClick={() => (saying.value = true)}>
        <span>
          <small>{name} </small>
          {tool || "not said"}
        </span>
        {wanted.part !== "" && (
          <span>
            <small>lot of {wanted.part} </small>
            {lot || "not said"}
          </span>
        )}
      </button>
    );
  }
  return (
    <form
      class="saying"
      key={`${wanted.kind} ${wanted.part}`}
      onSubmit={(event) => {
        event.preventDefault();
        const fields = new FormData(event.currentTarget);
        say(tool_key(wanted), `${fields.get(tool_key(wanted)) ?? ""}`.trim());
        if (wanted.part !== "") {
          say(lot_key(wanted), `${fields.get(lot_key(wanted)) ?? ""}`.trim());
        }
        saying.value = false;
      }}
    >
      <Field name={`${name} in hand`} id={tool_key(wanted)} about={wanted.tool} words={tool} />
      {wanted.part !== "" && <Field name="lot" id={lot_key(wanted)} about={`of ${wanted.part}`} words={lot} />}
      <p class="last">
        <button type="submit" class="tick">
          so it is
        </button>
        <button type="button" onClick={() => (saying.value = false)}>
          leave it
        </button>
      </p>
    </form>
  );
}
