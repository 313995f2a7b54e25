// What a customer sees and says: the picture, the options with what speaks for and against them, and
// the line to sign on. The desk's own page and the file that is sent show the same.
import type { ComponentChildren } from "preact";

export interface Option {
  option: string;
  name: string;
  chosen: string; // "yes", "no", "" while open
  why: string;
  why_not: string;
  adds: string;
  cost: string;
  touches: string;
  because: string;
  why_gate: string;
  boxes: number;
  mass_kg: number | null;
  steady_a: number | null;
  brief_a: number | null;
  gate: string;
  step: string;
  sold: string;
  passed: string;
}
export interface SeenChange {
  kind: string;
  key: string;
  what: string;
  before: string;
  after: string;
}
export interface Approval {
  name: string;
  at: string;
  hash: string;
  what: string;
  holds: boolean;
  changes: SeenChange[];
}
export interface Offer {
  job: string;
  title: string;
  hash: string;
  options: Option[];
  caution: string;
  act?: number;
  approval?: Approval | null;
  ends_s?: number;
}

export const WORDS: Record<string, string> = { yes: "yes", no: "no", "": "not yet" };

export function day(seconds: number): string {
  return new Date(seconds * 1000).toISOString().slice(0, 10);
}

export function Choices({
  option,
  chosen,
  locked,
  choose,
}: {
  option: Option;
  chosen: string;
  locked: boolean;
  choose: (word: string) => void;
}) {
  return (
    <fieldset class="choices" disabled={locked}>
      <legend class="unseen">{option.name}</legend>
      {["yes", "no", ""].map((word) => (
        <label key={word} class={chosen === word ? "taken" : ""}>
          <input
            type="radio"
            name={option.option}
            checked={chosen === word}
            onChange={() => choose(word)}
          />
          {WORDS[word]}
        </label>
      ))}
    </fieldset>
  );
}

// One option in plain words; `children`: what can be done about it.
export function OptionCard({ option, children }: { option: Option; children: ComponentChildren }) {
  return (
    <li class="option">
      <h3>
        {option.name} <small>{option.option}</small>
      </h3>
      {option.why !== "" && (
        <p>
          <b>For it:</b> {option.why}.
        </p>
      )}
      {option.why_not !== "" && (
        <p>
          <b>Against it:</b> {option.why_not}.
        </p>
      )}
      {option.adds !== "" && (
        <p>
          <b>It adds:</b> {option.adds}.
        </p>
      )}
      <p>{option.cost}.</p>
      {option.gate === "" ? (
        <p class="quiet">Nothing says yet until when it can be chosen.</p>
      ) : option.passed === "" ? (
        <p class="quiet">
          Can be chosen until gate {option.gate} ({option.step}): {option.why_gate}. No date is
          planned for it.
        </p>
      ) : (
        <p class="quiet">
          Closed: gate {option.gate} ({option.step}) was passed on {option.passed}. A change now is
          a change order.
        </p>
      )}
      {children}
    </li>
  );
}

export function ChangeList({ changes }: { changes: SeenChange[] }) {
  const most = 40;
  return (
    <ul class="changes">
      {changes.slice(0, most).map((change) => (
        <li key={`${change.kind} ${change.key} ${change.what}`}>
          {change.kind} {change.key}: {change.what}
          {change.before !== "" || change.after !== "" ? (
            <small>
              {" "}
              {change.before || "nothing"} → {change.after || "nothing"}
            </small>
          ) : null}
        </li>
      ))}
      {changes.length > most && <li>and {changes.length - most} more</li>}
    </ul>
  );
}
