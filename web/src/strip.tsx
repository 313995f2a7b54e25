// The strip at the foot, as on paper: job, what is looked at, open findings; and the few things
// that are wanted everywhere.
import { redo, undo } from "./change";
import { me } from "./me";
import {
  counted,
  current_job,
  finding,
  job_state,
  link,
  message,
  online,
  place,
  sheets,
  shop,
} from "./state";
import { next_theme, theme } from "./theme";

function Severities() {
  const open = job_state.value?.open;
  if (!open) {
    return <span class="quiet">...</span>;
  }
  const counts = Object.entries(open).filter(([, count]) => count > 0);
  return (
    <>
      {counts.length === 0 && <span>no open finding</span>}
      {counts.map(([severity, count]) => (
        <span class={`severity ${severity}`} key={severity}>
          {counted(count, severity)}
        </span>
      ))}
    </>
  );
}

function where(): string {
  const { kind, name } = place.value;
  if (kind === "sheet") {
    return sheets.value.find((sheet) => sheet.name === name)?.title ?? "Sheets";
  }
  const words: Record<string, string> = {
    table: `Table ${name}`,
    proof: "Findings",
    panel: "Panel",
    aircraft: "Aircraft",
    fail: "Fail it",
    brief: "Brief",
    book: "Book",
    bench: "Bench",
  };
  return words[kind] ?? "Log";
}

export function Strip() {
  const job = current_job.value;
  return (
    <footer class="strip">
      {!online.value && (
        <p class="tell" role="status">
          The desk does not answer. What you see may be old; it goes on by itself once it is back.
        </p>
      )}
      {message.value !== "" && (
        <p class="tell" role="alert">
          {message.value}
          <button type="button" onClick={() => (message.value = "")}>
            understood
          </button>
        </p>
      )}
      <div class="fields">
        <a class="field" href="#/">
          <small>shop file</small>
          {shop.value.replace(/^.*\//, "")}
        </a>
        <a class="field" href="#//people">
          <small>{me.value?.signs_in ? me.value.role : "this machine"}</small>
          {me.value?.person}
        </a>
        {job !== "" && (
          <>
            <a class="field" href={link(job, "sheet")}>
              <small>job</small>
              {job}
            </a>
            <button type="button" class="field wide" onClick={() => (finding.value = true)}>
              <small>find ( / )</small>
              {where()}
            </button>
            <a class="field" href={link(job, "proof")}>
              <small>open findings</small>
              <Severities />
            </a>
            <a class="field" href={link(job, "aircraft")}>
              <small>views</small>
              aircraft
            </a>
            <a class="field" href={link(job, "fail")}>
              <small>try</small>
              fail it
            </a>
            <a class="field" href={link(job, "panel")}>
              <small>front</small>
              panel
            </a>
            {place.value.kind === "sheet" && place.value.name !== "" && (
              <button type="button" class="field" onClick={() => print()}>
                print
              </button>
            )}
            <a class="field" href={link(job, "brief")}>
              <small>customer</small>
              brief
            </a>
            <a class="field" href={link(job, "book")}>
              <small>on paper</small>
              book
            </a>
            <a class="field" href={link(job, "bench")}>
              <small>build</small>
              bench
            </a>
            <a class="field" href={link(job, "log")}>
              <small>act</small>
              {job_state.value?.act ?? "..."}
            </a>
            <button type="button" class="field" onClick={() => void undo()}>
              undo
            </button>
            <button type="button" class="field" onClick={() => void redo()}>
              redo
            </button>
          </>
        )}
        <button type="button" class="field" onClick={next_theme}>
          <small>light</small>
          {theme.value}
        </button>
      </div>
      <p class="caution">
        For amateur-built aircraft. The builder is the maker and answers for airworthiness. Makers'
        manuals, the authority's rules and a licensed inspection come before any figure here.
        Measure before flight.
      </p>
    </footer>
  );
}
