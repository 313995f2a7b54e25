// What was done to a module, by whom, with which tool and of which lot: in the order of building, as
// far as it counts. For the eye and for paper; the table `bench_record` has the same.
import * as data from "./bench_data";
import type { Work } from "./bench_data";
import { current_job, link } from "./state";

// Minutes are enough.
function moment(time: unknown): string {
  return `${time}`.slice(0, 16).replace("T", " ");
}

export function RecordPage({ work }: { work: Work }) {
  const rows = work.items.flatMap((item) => {
    const row = data.done.value.get(`${item.op} ${item.key}`);
    return row ? [{ item, row }] : [];
  });
  const bare = rows.filter(({ item, row }) => (item.end > 0 || item.pull) && !row.tool).length;
  return (
    <>
      <header class="topline">
        <a class="button" href={link(current_job.value, "bench", work.module)}>
          {work.module}
        </a>
        <h1>
          record of {work.name}{" "}
          <small>
            {rows.length} of {work.items.length} steps
          </small>
        </h1>
        <button type="button" onClick={() => print()}>
          print
        </button>
      </header>
      {bare > 0 && <p class="tell">{bare} ticked at an end or a sample without saying the tool.</p>}
      <div class="item" tabIndex={0} role="region" aria-label="record">
        {rows.length === 0 ? (
          <p class="plain">Nothing is ticked yet.</p>
        ) : (
          <table class="record">
            <thead>
              <tr>
                <th>step</th>
                <th>of</th>
                <th>tool</th>
                <th>lot</th>
                <th>let go at, N</th>
                <th>who</th>
                <th>when (UTC)</th>
              </tr>
            </thead>
            <tbody>
              {rows.map(({ item, row }) => (
                <tr key={`${item.op} ${item.key}`}>
                  <td>{work.ops[item.op]?.name ?? item.op}</td>
                  <td>{item.key || work.name}</td>
                  <td>{row.tool ?? ""}</td>
                  <td>{row.lot ?? ""}</td>
                  <td>{row.pull_n ?? ""}</td>
                  <td>{row.person}</td>
                  <td>{moment(row.time)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        )}
      </div>
    </>
  );
}
