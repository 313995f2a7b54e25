// What a person lets fail, and what that does: kept here, so that every view can show it.
import { computed, effect, signal } from "@preact/signals";
import { api, Refused, type Trial, type TrialPhase } from "./api";
import { aircraft, owner_of } from "./light";
import { changes, current_job, message, place } from "./state";

export const failing = signal<string[]>([]); // "W0412:open", or "W0412" in its first mode
export const phase_asked = signal(""); // "": the first that failures are tried in
export const settings = signal<Record<string, string>>({}); // switches put otherwise
export const trial = signal<Trial | null>(null);
export const trial_problem = signal("");
export const show_failing = computed(() => place.value.kind === "fail");

export const item_of = (key: string): string => key.replace(/:[a-z_]+$/, "");

// The phase that is looked at.
export const trial_phase = computed<TrialPhase | null>(() => {
  const phases = trial.value?.phases ?? [];
  return phases.find((phase) => phase.phase === phase_asked.value) ?? phases[0] ?? null;
});

const NOTHING = { failed: new Set<string>(), dark: new Set<string>(), buses: new Set<string>() };

// Keys of what has failed and of what is dark by it.
export const trial_marks = computed(() => {
  const now = trial_phase.value;
  if (!show_failing.value || !now || !trial.value) {
    return NOTHING;
  }
  // A port that was not in use when it lost its supply is dark as well, its box is not.
  const dark = new Set([...now.wires, ...now.units, ...now.dark.map((port) => port.end)]);
  for (const [net, cables] of aircraft.value?.nets ?? []) {
    if (cables.every((cable) => cable.wires.every((wire) => dark.has(wire)))) {
      dark.add(net);
    }
  }
  // Buses apart: the circuit that feeds one may have its name.
  return { failed: new Set(trial.value.items.map((item) => item.item)), dark, buses: new Set(now.buses) };
});

function words(): string {
  return Object.entries(settings.value)
    .map(([item, position]) => `${item}:${position}`)
    .join(" ");
}

// What was touched can mostly fail by its own name; else the box it belongs to may.
export async function toggle(key: string): Promise<void> {
  const there = failing.value.some((one) => item_of(one) === key);
  if (there) {
    failing.value = failing.value.filter((one) => item_of(one) !== key);
    return;
  }
  const words = key.split(" ");
  const tries = [key, ...[...words].reverse(), ...[...words].reverse().map(owner_of)];
  let nearest = "";
  for (const one of new Set(tries)) {
    if (failing.value.some((other) => item_of(other) === one)) {
      failing.value = failing.value.filter((other) => item_of(other) !== one);
      return;
    }
    try {
      await api.trial(current_job.value, one, phase_asked.value, "");
      failing.value = [...failing.value, one];
      message.value = "";
      return;
    } catch (error) {
      if (!(error instanceof Refused) || error.code !== 404) {
        throw error;
      }
      nearest = nearest || error.message;
    }
  }
  message.value = nearest.replace(/; `.*` lists what can/, "");
}

effect(() => {
  void current_job.value;
  failing.value = [];
  settings.value = {};
  phase_asked.value = "";
  trial.value = null;
});

let round = 0;
effect(() => {
  void changes.value;
  const job = current_job.value;
  if (job === "" || !show_failing.value) {
    return;
  }
  const mine = ++round;
  api
    .trial(job, failing.value.join(" "), phase_asked.value, words())
    .then((answer) => {
      if (mine === round) {
        trial.value = answer;
        trial_problem.value = "";
      }
    })
    .catch((error: unknown) => {
      if (mine === round) {
        trial_problem.value = error instanceof Refused ? error.message : "the desk does not answer";
      }
    });
});
