// What is wrong, the worst first, each with its number, limit, source and cure.
import { useEffect, useState } from "preact/hooks";
import { api, type Row } from "./api";
import { attempt, changes, current_job, link, selected, tables } from "./state";
import { Why } from "./why";

function text(row: Row, column: string): string {
  const value = row[column];
  return value === null || value === undefined ? "" : String(value);
}

function figures(row: Row): string {
  const value = text(row, "value");
  const limit = text(row, "limit");
  return value === "" ? "" : `${value} ${text(row, "unit")}${limit === "" ? "" : `, limit ${limit}`}`;
}

export function Proof() {
  const job = current_job.value;
  const [rows, set_rows] = useState<Row[] | null>(null);
  const round = changes.value;
  useEffect(() => {
    let current = true;
    void attempt(() => api.table(job, "finding")).then((answer) => {
      if (current && answer) {
        set_rows(answer.rows);
      }
    });
    return () => {
      current = false;
    };
  }, [job, round]);
  const key = selected.value;
  return (
    <>
      <div class="plain">
        <h1>Findings</h1>
        <p class="doors">
          <a href={link(job, "fail")}>fail it: see what a failure takes with it</a>
        </p>
        {rows === null && <p>Trying every failure ...</p>}
        {rows?.length === 0 && <p>Nothing found.</p>}
        <ol class="findings">
          {rows?.map((row) => (
            <li key={text(row, "number")} class={row["accepted"] ? "accepted" : ""}>
              <span class={`severity ${text(row, "severity")}`}>{text(row, "severity")}</span>
              <div>
                <p>
                  <strong>{text(row, "row") || text(row, "table")}</strong> {text(row, "message")}
                </p>
                <p class="quiet">
                  {[figures(row), text(row, "hint"), text(row, "source")]
                    .filter((part) => part !== "")
                    .join(". ")}
                </p>
                {row["accepted"] && <p class="quiet">accepted: {text(row, "reason")}</p>}
                <p class="doors">
                  {tables.value.some((table) => table.name === row["table"]) && (
                    <a href={link(job, "table", text(row, "table"))}>table {text(row, "table")}</a>
                  )}
                  {text(row, "row") !== "" && (
                    <button type="button" onClick={() => (selected.value = text(row, "row"))}>
                      why
                    </button>
                  )}
                </p>
              </div>
            </li>
          ))}
        </ol>
      </div>
      {key !== "" && <Why job={job} name={key} />}
    </>
  );
}
