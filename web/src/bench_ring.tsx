// Ring-out: one reading at a time, typed or scanned (a scanner types and presses Enter), held
// against what is expected at once; what several mean together comes from the desk.
import { signal } from "@preact/signals";
import { useEffect, useLayoutEffect, useRef } from "preact/hooks";
import * as data from "./bench_data";
import type { BenchRow, Ring, Step } from "./bench_data";
import { METER, With, columns, saying } from "./bench_tool";
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

// The last reading of what a step measures.
function of_step(step: Step): BenchRow | undefined {
  return data.measured.value.of.get(step.measured);
}

const same_points = (step: Step, a: string, b: string) =>
  (step.a === a && step.b === b) || (step.a === b && step.b === a);

function said(row: BenchRow): string {
  return row.open === true || row.open === 1 ? "open" : ohms(Number(row.ohm));
}

function names(step: Step): string[] {
  return [step.a, step.b, ...step.wires.split(" ")].map((name) => name.toLowerCase());
}

// What was typed or scanned: a reading, or the name of a point or wire to go to.
function take(ring: Ring, index: number, text: string): void {
  const { steps, design } = ring;
  const reading = read_ohms(text);
  const step = steps[index];
  const [a, b] = pair.value ?? [step?.a ?? "", step?.b ?? ""];
  if (reading === null) {
    // Scanned again, a name that several steps have goes on to the next of them without a reading.
    const wanted = text.trim().toLowerCase();
    const there = steps.map((_, i) => i).filter((i) => names(steps[i] as Step).includes(wanted));
    const unread = there.find((i) => of_step(steps[i] as Step) === undefined);
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
  const of = pair.value === null ? step : steps.find((one) => same_points(one, a, b));
  void data.add("bench_reading", {
    module: ring.module === data.INSTALLED ? "" : ring.module,
    point_a: a,
    point_b: b,
    ...(of ? { step: of.step } : {}),
    measured: of?.measured ?? design,
    ...columns(METER),
    ...value,
  });
  if (pair.value === null && step) {
    at.value = is_good(step, { open: reading.open, ohm: reading.ohm })
      ? next_unread(steps, index + 1)
      : index;
  }
}

function next_unread(steps: Step[], from: number): number {
  const unread = (step: Step) => of_step(step) === undefined;
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
  // At once: a scanner types without looking.
  useLayoutEffect(() => field.current?.focus({ preventScroll: true }));
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
        ohms, or a scanned point or wire
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

function when(row: BenchRow): string {
  return `${row.person}, ${`${row.time}`.slice(0, 10)}`;
}

// A reading between these points that was taken of another design.
function Earlier({ step }: { step: Step }) {
  const row = data.measured.value.earlier
    .filter((one) => same_points(step, `${one.point_a}`, `${one.point_b}`))
    .at(-1);
  return row ? (
    <p class="earlier">
      of an earlier design: {said(row)} ({when(row)}); it does not count, measure again
    </p>
  ) : null;
}

function StepView({ step, row }: { step: Step; row: BenchRow | undefined }) {
  return (
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
      {row ? <Verdict step={step} row={row} /> : <Earlier step={step} />}
    </div>
  );
}

function PairView({ points }: { points: [string, string] }) {
  return (
    <div class="points">
      <p class="quiet">a reading beside the script, to tell causes apart</p>
      <p class="huge">{points[0]}</p>
      <p class="huge">{points[1]}</p>
      <button type="button" onClick={() => (pair.value = null)}>
        back to the script
      </button>
    </div>
  );
}

function Steps({ steps }: { steps: Step[] }) {
  const { earlier } = data.measured.value;
  return (
    <>
      <details class="groups">
        <summary>all steps</summary>
        <ul>
          {steps.map((one, i) => {
            const got = of_step(one);
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
      {earlier.length > 0 && (
        <details class="groups">
          <summary>readings of an earlier design, which do not count ({earlier.length})</summary>
          <ul>
            {earlier.map((row) => (
              <li key={`${row.reading}`}>
                {row.point_a} - {row.point_b}: {said(row)} <small>{when(row)}</small>
              </li>
            ))}
          </ul>
        </details>
      )}
    </>
  );
}

function Waits() {
  return (
    <p class="plain">
      {data.trouble.value ||
        (data.reachable.value
          ? "Working out what is to be measured ..."
          : "The desk is out of reach, and this tablet has not seen this script yet.")}
    </p>
  );
}

export function RingPage({ module }: { module: string }) {
  const ring = data.ring.value;
  const mated = module === data.INSTALLED;
  useEffect(() => {
    at.value = -1;
    pair.value = null;
    told.value = "";
    saying.value = false;
  }, [module]);
  if (ring?.module !== module) {
    return <Waits />;
  }
  const steps = ring.steps;
  const index = at.value < 0 ? next_unread(steps, 0) : Math.min(at.value, steps.length - 1);
  const step = steps[index];
  const read = steps.filter((one) => of_step(one) !== undefined).length;
  return (
    <>
      <header class="topline short">
        <a class="button" href={link(current_job.value, "bench", mated ? "" : module)}>
          {mated ? "bench" : module}
        </a>
        <h1>
          {mated ? "ring out, all mated " : "ring out "}
          <small>
            {read} of {steps.length} read
          </small>
        </h1>
      </header>
      <progress value={read} max={Math.max(1, steps.length)} aria-label="read" />
      <div class={ring.causes.length > 0 ? "item ring told" : "item ring"}>
        {pair.value ? (
          <PairView points={pair.value} />
        ) : (
          step && <StepView step={step} row={of_step(step)} />
        )}
        <Diagnosis />
        {!saying.value && <Entry onText={(text) => take(ring, index, text)} />}
        {told.value !== "" && (
          <p class="tell" role="alert">
            {told.value}
          </p>
        )}
        {ring.strange.map((words) => (
          <p class="tell" key={words}>
            {words}
          </p>
        ))}
        <Steps steps={steps} />
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
        <With wanted={METER} name="meter" />
      </div>
    </>
  );
}
