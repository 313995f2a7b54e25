// One to three views side by side, as many as the window has room for; which they are stands in the
// page's address. What is touched in one is lit in all.
import { useEffect } from "preact/hooks";
import { signal } from "@preact/signals";
import { Airframe, LOOKS, type Look } from "./airframe";
import { SheetList, Paper } from "./sheet";
import { current_job, go, place, selected, sheets, sheets_problem } from "./state";
import { Why } from "./why";

const PANE_PX = 560; // narrowest beside another
const WIDE_PX = 2200; // three at once from the beginning
const MOST = 3;

export const room = signal(1); // panes that fit

function measure(): void {
  room.value = Math.max(1, Math.min(MOST, Math.floor(innerWidth / PANE_PX)));
}
measure();
addEventListener("resize", measure);

// Names of the panes, as far as there is room. `usual`: when the address names none.
function names_of(usual: string[]): string[] {
  const named = place.value.name === "" ? usual : place.value.name.split(",");
  return named.slice(0, room.value);
}

function put(names: string[]): void {
  const { job, kind } = place.value;
  go(job, kind, names.join(","));
}

function is_look(name: string): name is Look {
  return name in LOOKS;
}

function Pane({ names, at }: { names: string[]; at: number }) {
  const job = current_job.value;
  const name = names[at] ?? "turn";
  const show = (next: string) => put(names.map((one, i) => (i === at ? next : one)));
  const parts = new Map<string, typeof sheets.value>();
  for (const sheet of sheets.value) {
    const part = sheet.part || "Book";
    parts.set(part, [...(parts.get(part) ?? []), sheet]);
  }
  return (
    <section class="pane" aria-label={is_look(name) ? LOOKS[name] : name}>
      <header>
        <select value={name} aria-label={`View ${at + 1}`} onChange={(event) => show(event.currentTarget.value)}>
          <optgroup label="Aircraft">
            {Object.entries(LOOKS).map(([look, words]) => (
              <option key={look} value={look}>
                {words}
              </option>
            ))}
          </optgroup>
          {[...parts].map(([part, list]) => (
            <optgroup key={part} label={part}>
              {list.map((sheet) => (
                <option key={sheet.name} value={sheet.name}>
                  {sheet.title}
                </option>
              ))}
            </optgroup>
          ))}
          {!is_look(name) && !sheets.value.some((sheet) => sheet.name === name) && (
            <option value={name}>{name}</option>
          )}
        </select>
        {names.length > 1 && (
          <button type="button" aria-label={`Close view ${at + 1}`} onClick={() => put(names.filter((_, i) => i !== at))}>
            ×
          </button>
        )}
        {at === names.length - 1 && names.length < room.value && (
          <button type="button" aria-label="One more view" onClick={() => put([...names, names.includes("plan") ? "power-1" : "plan"])}>
            +
          </button>
        )}
      </header>
      <div class="view">
        {is_look(name) ? (
          <Airframe key={name} look={name} />
        ) : sheets_problem.value === "" ? (
          <Paper key={name} job={job} name={name} turn_to={show} />
        ) : (
          <SheetList />
        )}
      </div>
    </section>
  );
}

export function Panes({ usual }: { usual: string[] }) {
  const names = names_of(usual);
  const key = selected.value;
  useEffect(measure, []);
  // A sheet is opened in the last pane; alone it takes the place of what is there.
  const open = (sheet: string) =>
    put(names.length < room.value ? [...names, sheet] : [...names.slice(0, -1), sheet]);
  return (
    <div class={`panes of${names.length}`}>
      {names.map((name, at) => (
        <Pane key={`${at} ${name}`} names={names} at={at} />
      ))}
      {key !== "" && <Why job={current_job.value} name={key} open={open} />}
    </div>
  );
}

export function AircraftPage() {
  return <Panes usual={innerWidth < WIDE_PX ? ["turn", "power-1"] : ["turn", "power-1", "plan"]} />;
}
