// Fail it: touch anything in any view, and see what goes dark, what is lost, and how long what is
// left lasts. Phase of flight and switches are set here.
import { useState } from "preact/hooks";
import type { TrialBattery, TrialPhase, TrialPort } from "./api";
import { failing, item_of, phase_asked, settings, toggle, trial, trial_phase, trial_problem } from "./failing";
import { select } from "./light";
import { Panes } from "./panes";
import { current_job, go, job_state, place, selected, sheets } from "./state";

function Key({ name }: { name: string }) {
  return (
    <button type="button" class="word" onClick={() => select(name)}>
      {name}
    </button>
  );
}

function List({ head, keys }: { head: string; keys: string[] }) {
  return keys.length === 0 ? null : (
    <>
      <dt>{head}</dt>
      <dd>
        {keys.map((key, i) => (
          <>
            {i > 0 && " "}
            <Key name={key} key={key} />
          </>
        ))}
      </dd>
    </>
  );
}

function Said({ head, words }: { head: string; words: string }) {
  return words === "" ? null : (
    <>
      <dt>{head}</dt>
      <dd>{words}</dd>
    </>
  );
}

const whole = (minutes: number | null) => (minutes === null ? "" : String(Math.floor(minutes))); // never up

function Battery({ battery }: { battery: TrialBattery }) {
  const { unit, amps_a, capacity_ah, usable_aged, aged_min, new_min, source } = battery;
  if (aged_min === null) {
    return (
      <p>
        <Key name={unit} /> is not drawn on{amps_a < -0.05 ? `, takes ${(-amps_a).toFixed(1)} A` : ""}
      </p>
    );
  }
  return (
    <div class="minutes">
      <p>
        <b>{whole(aged_min)} min</b> <Key name={unit} /> aged; new {whole(new_min)} min
      </p>
      <small>
        {capacity_ah} Ah × {usable_aged.toFixed(2)} × 60 / {amps_a.toFixed(2)} A. {source}. At the current just after
        it; nothing is shed. With the pilot's actions: table endurance.
      </small>
    </div>
  );
}

function in_use(ports: TrialPort[]): string[] {
  return ports.filter((port) => port.in_use).map((port) => port.end);
}

function Result({ phase }: { phase: TrialPhase }) {
  const left = phase.dark.filter((port) => !port.in_use).map((port) => port.end);
  const nothing =
    phase.dark.length + phase.restarted.length + phase.needs.length === 0 && phase.functions === "";
  return (
    <div role="status" class="result">
      {phase.status !== "solved" && <p class="severity warning">{phase.status}</p>}
      {phase.batteries.map((battery) => (
        <Battery battery={battery} key={battery.unit} />
      ))}
      {failing.value.length > 0 && nothing && <p>Loses no supply, no function and no need.</p>}
      <dl>
        <Said head="functions lost" words={phase.functions} />
        {phase.needs.length > 0 && (
          <>
            <dt>needs lost</dt>
            <dd>
              {phase.needs.map((need) => (
                <p key={need.need}>
                  <Key name={need.need} /> {need.title} {need.severity !== "" && <strong>{need.severity}</strong>}
                </p>
              ))}
            </dd>
          </>
        )}
        <List head="buses dark" keys={phase.buses} />
        <List head="boxes dark" keys={phase.units} />
        <List head="supply lost" keys={in_use(phase.dark)} />
        <List head="would have none" keys={left} />
        <List head="starts again" keys={in_use(phase.restarted)} />
        <List head="gets supply" keys={in_use(phase.gained)} />
        {phase.opened.length > 0 && (
          <>
            <dt>opens</dt>
            <dd>
              {phase.opened.map((device) => (
                <p key={device.device}>
                  <Key name={device.device} /> after {device.seconds.toPrecision(3)} s at the latest (
                  {device.percent.toFixed(0)} % of its rating)
                </p>
              ))}
            </dd>
          </>
        )}
        <Said head="noticed" words={phase.noticed} />
        <Said head="lowest left" words={phase.lowest} />
        <Said head="not proved" words={phase.note} />
      </dl>
    </div>
  );
}

function Failing() {
  const [typed, set_typed] = useState("");
  const items = trial.value?.items ?? [];
  const add = async () => {
    if (typed.trim() !== "") {
      await toggle(typed.trim());
      set_typed("");
    }
  };
  return (
    <section>
      <h2>Fails</h2>
      {failing.value.length === 0 && <p class="quiet">Touch a wire, contact, device, segment or box in a view.</p>}
      <ul class="fails">
        {failing.value.map((key) => {
          const item = items.find((one) => one.item === item_of(key));
          return (
            <li key={key}>
              <Key name={item_of(key)} />
              <select
                aria-label={`How ${item_of(key)} fails`}
                value={item?.mode ?? ""}
                onChange={(event) => {
                  const mode = event.currentTarget.value;
                  failing.value = failing.value.map((one) => (one === key ? `${item_of(key)}:${mode}` : one));
                }}
              >
                {(item?.modes ?? []).map((mode) => (
                  <option key={mode} value={mode}>
                    {mode.replaceAll("_", " ")}
                  </option>
                ))}
              </select>
              <button type="button" aria-label={`${item_of(key)} works again`} onClick={() => void toggle(item_of(key))}>
                ×
              </button>
              {item && <small>{item.meaning}</small>}
            </li>
          );
        })}
      </ul>
      <form
        class="line"
        onSubmit={(event) => {
          event.preventDefault();
          void add();
        }}
      >
        <input
          value={typed}
          placeholder="W0412, ALM:lost ..."
          aria-label="What else fails"
          onInput={(event) => set_typed(event.currentTarget.value)}
        />
        <button type="submit">fail it</button>
      </form>
      {failing.value.length > 0 && (
        <button
          type="button"
          onClick={() => {
            failing.value = [];
            select("");
          }}
        >
          all work again
        </button>
      )}
    </section>
  );
}

function Switches() {
  const list = trial.value?.switches ?? [];
  const phase = phase_asked.value || (trial_phase.value?.phase ?? "");
  const put = (item: string, position: string) => {
    phase_asked.value = phase; // switches stand otherwise in one phase
    settings.value = { ...settings.value, [item]: position };
  };
  const changed = Object.keys(settings.value);
  return (
    <details open={changed.length > 0}>
      <summary>
        Switches{changed.length > 0 ? `: ${changed.length} put otherwise` : ""}
      </summary>
      {changed.length > 0 && (
        <button type="button" onClick={() => (settings.value = {})}>
          as the phase has them
        </button>
      )}
      {list.map((row) => (
        <fieldset key={row.item} class={row.item in settings.value ? "changed" : ""}>
          <legend>
            {row.item} <small>{row.what}</small>
          </legend>
          {row.choices.map((choice) => (
            <label key={choice}>
              <input
                type="radio"
                name={`switch ${row.item}`}
                checked={choice === (settings.value[row.item] ?? row.position)}
                onChange={() => put(row.item, choice)}
              />
              {choice}
            </label>
          ))}
        </fieldset>
      ))}
    </details>
  );
}

// Plots beside what fails: how long batteries last, and how fast devices open.
function Plots() {
  const job = current_job.value;
  const plots = sheets.value.filter((sheet) => /^(endurance|protection|load-plot|start)(-|$)/.test(sheet.name));
  const beside = (name: string) => {
    const first = place.value.name.split(",")[0] || "power-1";
    go(job, "fail", `${first},${name}`);
  };
  return plots.length === 0 ? null : (
    <details>
      <summary>Plots of endurance, and of time and current</summary>
      <ul>
        {plots.map((sheet) => (
          <li key={sheet.name}>
            <button type="button" class="wide" onClick={() => beside(sheet.name)}>
              {sheet.title}
            </button>
          </li>
        ))}
      </ul>
    </details>
  );
}

export function FailPage() {
  const phases = job_state.value?.phases ?? [];
  const now = trial_phase.value;
  return (
    <div class={`fail${selected.value === "" ? "" : " asked"}`}>
      <div class="controls">
        <h1>Fail it</h1>
        <label class="line">
          phase
          <select
            value={phase_asked.value || (now?.phase ?? "")}
            onChange={(event) => {
              settings.value = {};
              phase_asked.value = event.currentTarget.value;
            }}
          >
            {phases.map((phase) => (
              <option key={phase} value={phase}>
                {phase.replaceAll("_", " ")}
              </option>
            ))}
          </select>
        </label>
        <Failing />
        {trial_problem.value !== "" && <p role="alert">{trial_problem.value}</p>}
        {now ? <Result phase={now} /> : trial_problem.value === "" && <p>Finding the operating points ...</p>}
        <Switches />
        <Plots />
        <p class="quiet">
          Reckoned, not measured. Times are the slow edge of each device's curve. What can't be proved says so.
        </p>
      </div>
      <Panes usual={["power-1", "turn"]} />
    </div>
  );
}
