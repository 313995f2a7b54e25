// Ring-out: one reading at a time, typed or scanned (a scanner types and presses Enter), held
// against what is expected at once; what several mean together comes from the desk.
import { signal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import * as data from "./bench_data";
import type { BenchRow, Step } from "./bench_data";
import { current_job, link } from "./state";

const at = signal(-1); // place in the script; -1: the first without a reading
const pair = signal<[string, string] | null>(null); // a reading beside the script
const told = signal("");

export interface Reading {
  open: boolean;
  ohm: number;
}

// "0.12", "0,12 ohm", "85m", "1.2k", "3 M", "open", "OL". Null: no reading.
export function read_ohms(text: string): Reading | null {
  const word = text.trim();
  if (/^(open|ol|o\.l\.|no|inf|∞)$/i.test(word)) {
    return { open: true, ohm: 0 };
  }
  const parts = /^(\d+(?:[.,]\d*)?|[.,]\d+)\s*(m|k|M|G)?\s*(?:ohms?|Ω|R)?$/.exec(word);
  if (!parts?.[1]) {
    return null;
  }
  const scale = { m: 1e-3, k: 1e3, M: 1e6, G: 1e9 }[parts[2] ?? ""] ?? 1;
  return { open: false, ohm: Number(parts[1].replace(",", ".")) * scale };
}

export function ohms(value: number | null): string {
  if (value === null) {
    return "not known";
  }
  const [scale, unit] =
    value >= 1e6 ? [1e6, "MΩ"] : value >= 1e3 ? [1e3, "kΩ"] : value >= 1 || value === 0 ? [1, "Ω"] : [1e-3, "mΩ"];
  return `${Number((value / scale).toPrecision(3))} ${unit}`;
}

function limits(step: Step): string {
  return step.low === null
    ? step.high === null
      ? "no limits"
      : `at most ${ohms(step.high)}`
    : step.high === null
      ? `at least ${ohms(step.low)}, or open`
      : `${ohms(step.low)} to ${ohms(step.high)}`;
}

function is_good(step: Step, row: BenchRow): boolean {
  const ohm = row.open === true || row.open === 1 ? Infinity : Number(row.ohm);
  return !(step.low !== null && ohm < step.low) && !(step.high !== null && ohm > step.high);
}

// The last reading of a step: isolation readings may have the same words, their number says which.
function of_step(module: string, step: Step): BenchRow | undefined {
  const same = data.readings.value.filter(
    (row) => row.module === module && row.point_a === step.a && row.point_b === step.b,
  );
  return step.kind === "isolation" ? same.filter((row) => row.step === step.step).at(-1) : same.at(-1);
}

function said(row: BenchRow): string {
  return row.open === true || row.open === 1 ? "open" : ohms(Number(row.ohm));
}

function names(step: Step): string[] {
  return [step.a, step.b, ...step.wires.split(" ")].map((name) => name.toLowerCase());
}

// What was typed or scanned: a reading, or the name of a point or wire to go to.
function take(module: string, steps: Step[], index: number, text: string): void {
  const reading = read_ohms(text);
  const step = steps[index];
  const [a, b] = pair.value ?? [step?.a ?? "", step?.b ?? ""];
  if (reading === null) {
    // Scanned again, a name that several steps have goes on to the next of them without a reading.
    const wanted = text.trim().toLowerCase();
    const there = steps.map((_, i) => i).filter((i) => names(steps[i] as Step).includes(wanted));
    const unread = there.find((i) => of_step(module, steps[i] as Step) === undefined);
    const found = unread ?? there[0] ?? -1;
    if (found >= 0) {
      at.value = found;
      pair.value = null;
      told.value = "";
    } else {
      told.value = `"${text}" is neither a reading (0.12, 85m, open) nor a point or wire of this script`;
    }
    return;
  }
  told.value = "";
  const value = reading.open ? { open: true } : { ohm: reading.ohm };
  const number = pair.value === null && step ? { step: step.step } : {};
  void data.add("bench_reading", { module, point_a: a, point_b: b, ...number, ...value });
  if (pair.value === null && step) {
    at.value = is_good(step, { open: reading.open, ohm: reading.ohm })
      ? next_unread(module, steps, index + 1)
      : index;
  }
}

function next_unread(module: string, steps: Step[], from: number): number {
  const unread = (step: Step) => of_step(module, step) === undefined;
  const later = steps.findIndex((step, i) => i >= from && unread(step));
  return later >= 0 ? later : Math.max(0, steps.findIndex(unread));
}

function Verdict({ step, row }: { step: Step; row: BenchRow }) {
  const good = is_good(step, row);
  return (
    <p class={good ? "verdict good" : "verdict bad"} role="status">
      {good ? "✓ as expected" : "✗ out of its limits"}: {said(row)}
      <button
        type="button"
        onClick={() => void data.add("bench_reading", { module: row.module ?? "", undoes: row.reading ?? "" })}
      >
        take back
      </button>
    </p>
  );
}

function Diagnosis() {
  const ring = data.ring.value;
  if (!ring || ring.causes.length === 0) {
    return ring && ring.words !== "" && ring.causes.length === 0 ? (
      <p class="quiet">{ring.words}</p>
    ) : null;
  }
  const next = ring.causes[0]?.next ?? "";
  const points = /^([^ ]+) against ([^ ]+)$/.exec(next);
  const first = ring.causes.filter((cause) => cause.rank === 1);
  const others = ring.causes.filter((cause) => cause.rank > 1 && cause.rank <= 4);
  return (
    <section class="diagnosis" aria-label="What the readings mean">
      <h2>What the readings mean</h2>
      {first.length > 1 && <p>One of these; no reading tells them apart, looking does:</p>}
      <ul>
        {first.slice(0, 6).map((cause) => (
          <li key={cause.member}>
            <strong>{cause.cause}</strong>
            <br />
            {cause.look}
          </li>
        ))}
      </ul>
      {first.length > 6 && <p>and {first.length - 6} more</p>}
      {others.length > 0 && (
        <details>
          <summary>less likely</summary>
          <ul>
            {others.map((cause) => (
              <li key={`${cause.rank} ${cause.member}`}>{cause.cause}</li>
            ))}
          </ul>
        </details>
      )}
      {next === "" ? (
        <p>No further reading is worth while: look, mend, then measure again.</p>
      ) : (
        <p class="next">
          Next reading that tells most: <strong>{next}</strong>
          {points?.[1] && points[2] && (
            <button
              type="button"
              onClick={() => {
                pair.value = [points[1] ?? "", points[2] ?? ""];
              }}
            >
              take it
            </button>
          )}
        </p>
      )}
    </section>
  );
}

function Entry({ onText }: { onText: (text: string) => void }) {
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => {
    field.current?.focus();
  });
  return (
    <form
      class="entry"
      onSubmit={(event) => {
        event.preventDefault();
        const text = field.current?.value ?? "";
        if (field.current) {
          field.current.value = "";
        }
        if (text.trim() !== "") {
          onText(text);
        }
      }}
    >
      <label>
        reading in ohms, or a scanned point or wire
        <input
          ref={field}
          name="reading"
          inputMode="text"
          autocomplete="off"
          enterkeyhint="done"
          placeholder="0.12   85m   open"
        />
      </label>
      <button type="submit">enter</button>
      <button type="button" onClick={() => onText("open")}>
        open
      </button>
    </form>
  );
}

export function RingPage({ module }: { module: string }) {
  const ring = data.ring.value;
  useEffect(() => {
    at.value = -1;
    pair.value = null;
    told.value = "";
  }, [module]);
  if (!ring) {
    return (
      <p class="plain">
        {data.trouble.value ||
          (data.reachable.value
            ? "Working out what is to be measured ..."
            : "The desk is out of reach, and this tablet has not seen this script yet.")}
      </p>
    );
  }
  const steps = ring.steps;
  const index = at.value < 0 ? next_unread(module, steps, 0) : Math.min(at.value, steps.length - 1);
  const step = steps[index];
  const read = steps.filter((one) => of_step(module, one) !== undefined).length;
  const row = step && of_step(module, step);
  return (
    <>
      <header class="topline">
        <a class="button" href={link(current_job.value, "bench", module)}>
          {module}
        </a>
        <h1>
          ring out{" "}
          <small>
            {read} of {steps.length} read
          </small>
        </h1>
      </header>
      <progress value={read} max={Math.max(1, steps.length)} aria-label="read" />
      <div class="item">
        {pair.value ? (
          <div class="points">
            <p class="quiet">a reading beside the script, to tell causes apart</p>
            <p class="huge">{pair.value[0]}</p>
            <p class="huge">{pair.value[1]}</p>
            <button type="button" onClick={() => (pair.value = null)}>
              back to the script
            </button>
          </div>
        ) : (
          step && (
            <div class="points">
              <p class="quiet">
                {step.kind}, {step.mode}, step {step.step} {step.wires !== "" && `(${step.wires})`}
              </p>
              <p class="huge">{step.a}</p>
              <p class="huge">{step.b}</p>
              <p class="expected">
                {step.expected !== null && <>expected {ohms(step.expected)}; </>}
                {limits(step)}
              </p>
              {step.note !== "" && <p>{step.note}</p>}
              {row && <Verdict step={step} row={row} />}
            </div>
          )
        )}
        {told.value !== "" && (
          <p class="tell" role="alert">
            {told.value}
          </p>
        )}
        <Entry onText={(text) => take(module, steps, index, text)} />
        <Diagnosis />
        {ring.strange.map((words) => (
          <p class="tell" key={words}>
            {words}
          </p>
        ))}
        <details class="groups">
          <summary>all steps</summary>
          <ul>
            {steps.map((one, i) => {
              const got = of_step(module, one);
              return (
                <li key={one.step}>
                  <button type="button" onClick={() => (at.value = i)}>
                    {one.step}. {one.a} - {one.b}{" "}
                    <small>{got ? `${is_good(one, got) ? "✓" : "✗"} ${said(got)}` : ""}</small>
                  </button>
                </li>
              );
            })}
          </ul>
        </details>
      </div>
      <div class="acts">
        <button type="button" disabled={index === 0} onClick={() => (at.value = index - 1)}>
          back
        </button>
        <button
          type="button"
          disabled={index + 1 >= steps.length}
          onClick={() => (at.value = index + 1)}
        >
          skip
        </button>
      </div>
    </>
  );
}
