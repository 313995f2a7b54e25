// Who changed what and when; what was kept.
import { useEffect, useState } from "preact/hooks";
import { api, type Act, type Revision } from "./api";
import { attempt, changes, current_job, message } from "./state";

export function Log() {
  const job = current_job.value;
  const [acts, set_acts] = useState<Act[] | null>(null);
  const [revisions, set_revisions] = useState<Revision[]>([]);
  const [name, set_name] = useState("");
  const [round, set_round] = useState(0);
  const change = changes.value;
  useEffect(() => {
    let current = true;
    void attempt(() => api.log(job)).then((answer) => {
      if (current && answer) {
        set_acts(answer.acts);
        set_revisions(answer.revisions);
      }
    });
    return () => {
      current = false;
    };
  }, [job, change, round]);
  const keep = async (event: Event) => {
    event.preventDefault();
    const kept = await attempt(() => api.keep(job, name.trim(), ""));
    if (kept) {
      set_name("");
      set_round(round + 1);
      message.value = `kept as ${kept.name}: ${kept.hash.slice(0, 12)}`;
    }
  };
  return (
    <div class="plain">
      <h1>Log of {job}</h1>
      <form class="keep" onSubmit={(event) => void keep(event)}>
        <label>
          Keep the job as it is, under the name
          <input value={name} onInput={(event) => set_name(event.currentTarget.value)} required />
        </label>
        <button type="submit">keep</button>
      </form>
      {revisions.length > 0 && (
        <table class="small">
          <thead>
            <tr>
              <th>revision</th>
              <th>hash</th>
              <th>after act</th>
              <th>by</th>
              <th>at</th>
              <th>why</th>
            </tr>
          </thead>
          <tbody>
            {revisions.map((revision) => (
              <tr key={revision.name}>
                <td>{revision.name}</td>
                <td>
                  <code>{revision.hash.slice(0, 12)}</code>
                </td>
                <td>{revision.act}</td>
                <td>{revision.person}</td>
                <td>{revision.at}</td>
                <td>{revision.what}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <table class="small">
        <thead>
          <tr>
            <th>act</th>
            <th>at</th>
            <th>by</th>
            <th>kind</th>
            <th>rows</th>
            <th>what</th>
          </tr>
        </thead>
        <tbody>
          {acts?.map((act) => (
            <tr key={act.act} class={act.state === "undone" || act.state === "gone" ? "undone" : ""}>
              <td>{act.act}</td>
              <td>{act.at}</td>
              <td>{act.person}</td>
              <td>
                {act.kind}
                {act.about > 0 && ` of ${act.about}`}
              </td>
              <td>{act.rows}</td>
              <td>{act.what}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
