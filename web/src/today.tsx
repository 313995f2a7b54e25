// Where every job stands and who waits for whom, the one that was touched last first. Findings are
// asked for the first few, for each job has to be proved for them.
import { useEffect, useState } from "preact/hooks";
import { api } from "./api";
import { brief_api, type Standing, type Today as Answer } from "./brief_api";
import { attempt, changes, counted, link } from "./state";

const PROVED_AT_ONCE = 6;
const SHOWN_AT_ONCE = 40;
const LOOK_AGAIN_MS = 2000;

function age(from_s: number, now_s: number): string {
  const hours = Math.max(0, Math.floor((now_s - from_s) / 3600));
  return hours < 48 ? `${hours} h` : `${Math.floor(hours / 24)} days`;
}

function Severities({ job, act, at_once }: { job: string; act: number; at_once: boolean }) {
  const [wanted, set_wanted] = useState(at_once);
  const [open, set_open] = useState<Record<string, number> | null>(null);
  useEffect(() => {
    let current = true;
    if (wanted) {
      void api
        .job(job)
        .then((state) => current && set_open(state.open))
        .catch(() => undefined);
    }
    return () => {
      current = false;
    };
  }, [job, act, wanted]);
  if (!wanted) {
    return (
      <button type="button" onClick={() => set_wanted(true)}>
        findings
      </button>
    );
  }
  if (open === null) {
    return <span class="quiet">proving ...</span>;
  }
  const counts = Object.entries(open).filter(([, count]) => count > 0);
  return (
    <>
      {counts.length === 0 && "no open finding"}
      {counts.map(([severity, count]) => (
        <span key={severity}>
          <span class={`severity ${severity}`}>
            {counted(count, severity)}
          </span>{" "}
        </span>
      ))}
    </>
  );
}

function waits(job: Standing, now_s: number): string[] {
  const list: string[] = [];
  if (job.waiting_s > 0) {
    list.push(`the shop for the customer's approval, asked ${age(job.waiting_s, now_s)} ago`);
  }
  if (job.questions_now > 0) {
    list.push(
      `gate ${job.next} for ${job.questions_now} answer${job.questions_now > 1 ? "s" : ""} of the customer`,
    );
  }
  if (job.options > 0) {
    list.push(`${job.options} option${job.options > 1 ? "s" : ""} for a yes or no`);
  }
  if (job.notes > 0) {
    list.push(`the bench for ${job.notes} noted problem${job.notes > 1 ? "s" : ""} to be settled`);
  }
  return list;
}

function Job({ job, now_s, at_once }: { job: Standing; now_s: number; at_once: boolean }) {
  const waiting = waits(job, now_s);
  return (
    <li class="standing">
      <h2>
        <a href={link(job.name, "sheet")}>{job.name}</a>
      </h2>
      <p>{job.title}</p>
      <dl class="facts">
        <dt>stage</dt>
        <dd>
          {job.gate === ""
            ? "no gate is passed yet"
            : `gate ${job.gate} passed ${job.date}: ${job.step}`}
        </dd>
        <dt>next gate</dt>
        <dd>
          {job.next === ""
            ? "none: all are passed"
            : `${job.next}: ${job.next_step}; no date is planned (a job's tables hold none)`}
        </dd>
        <dt>findings</dt>
        <dd>
          <Severities job={job.name} act={job.act} at_once={at_once} />
          <small>before failures are tried</small>
        </dd>
        <dt>waiting</dt>
        <dd>
          {waiting.length === 0
            ? "nobody"
            : waiting.map((line) => (
                <div key={line} class="waits">
                  {line}
                </div>
              ))}
          {job.approved_by !== "" && (
            <small>
              last approval: {job.approved_by}, {job.approved_at.slice(0, 10)} (the brief says
              whether it still counts)
            </small>
          )}
        </dd>
        <dt>last changed</dt>
        <dd>
          {job.at.replace("T", " ").replace("Z", " UTC")} by {job.person}
        </dd>
      </dl>
      <nav aria-label={`pages of ${job.name}`}>
        <a href={link(job.name, "sheet")}>sheets and tables</a>
        <a href={link(job.name, "brief")}>brief</a>
        <a href={link(job.name, "proof")}>findings</a>
        <a href={link(job.name, "book")}>book</a>
        <a href={link(job.name, "log")}>log</a>
      </nav>
    </li>
  );
}

function Empty({ shop }: { shop: string }) {
  const name = shop.replace(/^.*\//, "");
  return (
    <div class="plain">
      <h1>No job yet</h1>
      <p>
        This shop file ({name}) is empty. A job is a folder of tables; the program comes with some.
        In a terminal, in the folder of the program:
      </p>
      <code class="block">marling import examples/first {shop}</code>
      <p>Or begin one of your own, fill in its tables, and take it in:</p>
      <code class="block">marling new my_aircraft</code>
      <code class="block">marling import my_aircraft {shop}</code>
      <p class="quiet">This page shows it by itself when it is there.</p>
    </div>
  );
}

function FirstSteps({ job }: { job: string }) {
  const [hidden, set_hidden] = useState(() => sessionStorage.getItem("steps") === "no");
  if (hidden) {
    return null;
  }
  return (
    <section class="first-steps" aria-label="First steps">
      <h2>New here? Change a wire and print its sheet</h2>
      <ol>
        <li>
          Open <a href={link(job, "table", "unit")}>the boxes of {job}</a>. Touch a figure under
          stub_mm (the length from the harness to the connector) twice, type another, press Enter.
        </li>
        <li>
          Open <a href={link(job, "sheet")}>its sheets</a> and choose a wiring diagram: the wire is
          longer there already. Touch it, and it says why it is as it is.
        </li>
        <li>Press “print” at the foot of the sheet, or build the whole <a href={link(job, "book")}>book</a>.</li>
      </ol>
      <button
        type="button"
        onClick={() => {
          sessionStorage.setItem("steps", "no");
          set_hidden(true);
        }}
      >
        hide this
      </button>
    </section>
  );
}

export function Today() {
  const [answer, set_answer] = useState<Answer | null>(null);
  const [most, set_most] = useState(SHOWN_AT_ONCE);
  const [words, set_words] = useState("");
  const round = changes.value;
  useEffect(() => {
    let current = true;
    void attempt(() => brief_api.today(words, most)).then((said) => {
      if (current && said) {
        set_answer(said);
      }
    });
    return () => {
      current = false;
    };
  }, [round, words, most]);
  // What another program puts in is told by nobody: an empty file is looked at again.
  const empty = answer?.all === 0;
  useEffect(() => {
    if (!empty) {
      return undefined;
    }
    const timer = setInterval(() => {
      void brief_api.today("", SHOWN_AT_ONCE).then(set_answer).catch(() => undefined);
    }, LOOK_AGAIN_MS);
    return () => clearInterval(timer);
  }, [empty]);
  if (answer === null) {
    return <p class="plain">Opening the shop file ...</p>;
  }
  if (empty) {
    return <Empty shop={answer.shop} />;
  }
  const newest = answer.jobs[0];
  return (
    <div class="plain">
      <h1>Today</h1>
      {answer.all > PROVED_AT_ONCE && (
        <form class="line-form" onSubmit={(event) => event.preventDefault()}>
          <label>
            jobs with this in their name
            <input value={words} onInput={(event) => set_words(event.currentTarget.value)} />
          </label>
          <span role="status">
            {answer.found} of {answer.all}
          </span>
        </form>
      )}
      {newest && words === "" && <FirstSteps job={newest.name} />}
      <ul>
        {answer.jobs.map((job, i) => (
          <Job key={job.name} job={job} now_s={answer.now_s} at_once={i < PROVED_AT_ONCE} />
        ))}
      </ul>
      {answer.found > answer.jobs.length && (
        <button type="button" onClick={() => set_most(most + SHOWN_AT_ONCE)}>
          {answer.found - answer.jobs.length} more
        </button>
      )}
    </div>
  );
}
