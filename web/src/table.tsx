// The tables of a job, of the library and of what is derived; one of them as a grid.
import { useEffect, useState } from "preact/hooks";
import { api, type Rows } from "./api";
import { Grid } from "./grid";
import { attempt, changes, current_job, link, place, selected, tables } from "./state";
import { Why } from "./why";

function TableList() {
  const job = current_job.value;
  const groups = [
    ["job", "What the job holds"],
    ["library", "What the library holds"],
    ["result", "What is derived"],
  ] as const;
  return (
    <div class="plain">
      {groups.map(([group, words]) => (
        <section key={group}>
          <h1>{words}</h1>
          <ul class="sheets">
            {tables.value
              .filter((table) => table.group === group)
              .map((table) => (
                <li key={table.name}>
                  <a href={link(job, "table", table.name)}>
                    <strong>{table.name}</strong>
                    <small>{table.meaning}</small>
                  </a>
                </li>
              ))}
          </ul>
        </section>
      ))}
    </div>
  );
}

export function TablePage() {
  const { job, name } = place.value;
  const table = tables.value.find((candidate) => candidate.name === name);
  const [read, set_read] = useState<{ of: string; rows: Rows } | null>(null);
  const round = changes.value;
  const [failed, set_failed] = useState(false);
  const of = `${job}/${name}`;
  const data = read?.of === of ? read.rows : null;
  useEffect(() => {
    let current = true;
    if (table) {
      void attempt(() => api.table(job, table.name)).then((answer) => {
        if (current) {
          set_failed(!answer);
          set_read((before) => (answer ? { of, rows: answer } : before));
        }
      });
    }
    return () => {
      current = false;
    };
  }, [job, table, round]);
  if (!table) {
    return <TableList />;
  }
  const key = selected.value;
  return (
    <>
      {data ? <Grid key={of} job={job} table={table} data={data} /> : <p class="plain">{failed ? `${name} could not be read: what is wrong stands at the foot.` : `Reading ${name} ...`}</p>}
      {key !== "" && table.group !== "library" && <Why job={job} name={key} />}
    </>
  );
}
