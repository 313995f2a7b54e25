// The jobs of the shop, the one that was touched last first.
import { jobs, link } from "./state";

export function Today() {
  const list = jobs.value;
  if (list === null) {
    return <p class="plain">Opening the shop file ...</p>;
  }
  if (list.length === 0) {
    return (
      <div class="plain">
        <h1>No job yet</h1>
        <p>
          Put a folder of tables in: <code>marling import FOLDER SHOP.db</code>
        </p>
      </div>
    );
  }
  const sorted = [...list].sort((a, b) => b.act - a.act);
  return (
    <div class="plain">
      <h1>Jobs</h1>
      <ul class="jobs">
        {sorted.map((job) => (
          <li key={job.name}>
            <a href={link(job.name, "sheet")}>
              <strong>{job.name}</strong>
              <span>
                last changed {job.at.replace("T", " ").replace("Z", "")} by{" "}
                {job.person}
              </span>
            </a>
          </li>
        ))}
      </ul>
    </div>
  );
}
