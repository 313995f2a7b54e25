// What a choice moved, or would move.
import type { Figure, Moved } from "./brief_api";

function number(value: number | null, digits: number): string {
  return value === null ? "not there" : value.toFixed(digits);
}

function Figures({ list, unit, digits }: { list: Figure[]; unit: string; digits: number }) {
  const moved = list.filter(
    (figure) => number(figure.before, digits) !== number(figure.after, digits),
  );
  if (moved.length === 0) {
    return <>as it was</>;
  }
  return (
    <>
      {moved.map((figure) => {
        const by = (figure.after ?? 0) - (figure.before ?? 0);
        return (
          <div key={figure.name}>
            {figure.name}: {number(figure.before, digits)} → {number(figure.after, digits)} {unit} (
            {by > 0 ? "+" : "−"}
            {Math.abs(by).toFixed(digits)})
          </div>
        );
      })}
    </>
  );
}

function Names({ gone, come }: { gone: string[]; come: string[] }) {
  if (gone.length + come.length === 0) {
    return <>none came or went</>;
  }
  return (
    <>
      {gone.length > 0 && (
        <div>
          {gone.length} went: {gone.join(", ")}
        </div>
      )}
      {come.length > 0 && (
        <div>
          {come.length} came: {come.join(", ")}
        </div>
      )}
    </>
  );
}

export function MovedCard({ title, moved }: { title: string; moved: Moved }) {
  const most = 25;
  return (
    <section class="moved" role="status" aria-label={title}>
      <h3>{title}</h3>
      {!moved.complete && (
        <p>One of the two can't be proved whole: only findings are compared.</p>
      )}
      <dl>
        <dt>boxes</dt>
        <dd>
          <Names gone={moved.boxes_gone} come={moved.boxes_come} />
        </dd>
        <dt>wires</dt>
        <dd>
          <Names gone={moved.wires_gone} come={moved.wires_come} />
          {moved.wires_other > 0 && <div>cut or run otherwise: {moved.wires_other} of the others</div>}
          {moved.labels_other > 0 && (
            <div>another number on the label: {moved.labels_other} of the others</div>
          )}
        </dd>
        <dt>mass</dt>
        <dd>
          <Figures list={moved.masses} unit="kg" digits={2} />
        </dd>
        <dt>load</dt>
        <dd>
          <Figures list={moved.loads} unit="A" digits={2} />
        </dd>
        {moved.panel.length > 0 && (
          <>
            <dt>panel</dt>
            <dd>
              {moved.panel
                .slice(0, most)
                .map((change) => `${change.kind} ${change.key} ${change.what}`)
                .join("; ")}
              {moved.panel.length > most && ` and ${moved.panel.length - most} more`}
            </dd>
          </>
        )}
        <dt>findings</dt>
        <dd>
          {moved.findings.length === 0 && "none came or went"}
          <ul class="changes">
            {moved.findings.slice(0, most).map((finding) => (
              <li key={`${finding.came} ${finding.rule} ${finding.key} ${finding.message}`}>
                {finding.came ? "came" : "went"}:{" "}
                <span class={`severity ${finding.severity}`}>{finding.severity}</span>{" "}
                {finding.message}
              </li>
            ))}
          </ul>
          {moved.findings.length > most && <p>and {moved.findings.length - most} more</p>}
          {moved.findings_other > 0 && <p>with other figures now: {moved.findings_other} of the others</p>}
        </dd>
      </dl>
    </section>
  );
}
