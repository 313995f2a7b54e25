// The customer's answers, the options and what each choice moves, and how the customer is asked.
import { useEffect, useState } from "preact/hooks";
import { brief_api, type Brief, type Link, type Moved, type Pack, type Taken } from "./brief_api";
import { MovedCard } from "./moved";
import { ChangeList, Choices, day, OptionCard, type Option, WORDS } from "./offer";
import { attempt, changes, current_job, link } from "./state";
import { undo } from "./change";

interface Shown {
  option: string;
  title: string;
  moved: Moved;
  done: boolean;
}

function clock(at: string): string {
  return at.replace("T", " ").replace("Z", " UTC");
}

// --- answers ------------------------------------------------------------------------------------

function Answers({ brief }: { brief: Brief }) {
  const sorted = [...brief.questions].sort((a, b) => a.rank - b.rank);
  const open = sorted.filter((question) => question.answer === "");
  return (
    <section>
      <h2>What the customer said</h2>
      {open.length > 0 && (
        <>
          <p class="waits">
            {open.length} question{open.length > 1 ? "s wait" : " waits"} for the customer
          </p>
          <ul class="changes">
            {open.map((question) => (
              <li key={question.question}>
                {question.asks}? <small>before gate {question.gate}</small>
              </li>
            ))}
          </ul>
        </>
      )}
      <table class="answers">
        <tbody>
          {sorted
            .filter((question) => question.answer !== "")
            .map((question) => (
              <tr key={question.question}>
                <td class="quiet">{question.gate}</td>
                <td>
                  <small>{question.asks}?</small>
                  <br />
                  {question.answer}
                </td>
              </tr>
            ))}
        </tbody>
      </table>
      <p>
        <a href={link(current_job.value, "table", "brief")}>change the answers</a>
      </p>
    </section>
  );
}

function Gates({ brief }: { brief: Brief }) {
  const sorted = [...brief.gates].sort((a, b) => a.rank - b.rank);
  return (
    <section>
      <h2>Gates</h2>
      <table class="answers">
        <tbody>
          {sorted.map((gate) => (
            <tr key={gate.gate}>
              <td>{gate.gate}</td>
              <td>
                {gate.step}
                <br />
                <small>
                  {gate.passed === ""
                    ? "not passed; the tables of a job hold no planned date"
                    : `passed ${gate.passed}: ${gate.evidence}`}
                </small>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      <p>
        <a href={link(current_job.value, "table", "passed")}>write down a passed gate</a>
      </p>
    </section>
  );
}

// --- options ------------------------------------------------------------------------------------

function Options({ brief, reload }: { brief: Brief; reload: () => void }) {
  const job = current_job.value;
  const [shown, set_shown] = useState<Shown | null>(null);
  const [busy, set_busy] = useState("");
  const word = (chosen: string) => (chosen === "" ? "open" : WORDS[chosen]);

  const choose = async (option: Option, chosen: string) => {
    set_busy(option.option);
    const answer = await attempt(() => brief_api.choose(job, option.option, chosen));
    set_busy("");
    if (answer) {
      set_shown({
        option: option.option,
        title: `${option.name}: ${word(chosen)}. What that moved`,
        moved: answer.moved,
        done: true,
      });
      reload();
    }
  };
  const weigh = async (option: Option) => {
    const chosen = option.chosen === "no" ? "yes" : "no";
    set_busy(option.option);
    const moved = await attempt(() => brief_api.weigh(job, option.option, chosen));
    set_busy("");
    if (moved) {
      set_shown({
        option: option.option,
        title: `${option.name}: what ${word(chosen)} would move. Nothing is changed`,
        moved,
        done: false,
      });
    }
  };
  return (
    <section>
      <h2>Options</h2>
      {brief.options.length === 0 && (
        <p>
          This job offers none. <a href={link(job, "table", "option")}>Add one</a>: a row of the
          table option; what it touches, in touch.
        </p>
      )}
      <ul class="options">
        {brief.options.map((option) => (
          <OptionCard key={option.option} option={option}>
            {option.touches !== "" && <p class="quiet">It touches: {option.touches}.</p>}
            {option.sold !== "" && option.sold !== option.gate && (
              <p class="quiet">Sold until gate {option.sold}.</p>
            )}
            <Choices
              option={option}
              chosen={option.chosen}
              locked={busy !== ""}
              choose={(chosen) => void choose(option, chosen)}
            />
            <div class="line-form">
              <button type="button" disabled={busy !== ""} onClick={() => void weigh(option)}>
                {busy === option.option
                  ? "proving both ..."
                  : `look what "${option.chosen === "no" ? "yes" : "no"}" would move`}
              </button>
            </div>
            {shown?.option === option.option && (
              <>
                <MovedCard title={shown.title} moved={shown.moved} />
                {shown.done && (
                  <button
                    type="button"
                    onClick={() => {
                      set_shown(null);
                      void undo().then(reload);
                    }}
                  >
                    undo this choice
                  </button>
                )}
              </>
            )}
          </OptionCard>
        ))}
      </ul>
    </section>
  );
}

// --- the customer -------------------------------------------------------------------------------

function ApprovalState({ brief }: { brief: Brief }) {
  const approval = brief.approval;
  if (!approval) {
    return <p>Nothing is approved yet.</p>;
  }
  return approval.holds ? (
    <p>
      ✔ {approval.name} approved exactly what is shown now, {clock(approval.at)} ({approval.what}).
    </p>
  ) : (
    <>
      <p class="waits">
        The approval of {approval.name}, {clock(approval.at)}, no longer counts: what is seen has
        changed since
      </p>
      <ChangeList changes={approval.changes} />
    </>
  );
}

function save(bytes: Blob, name: string): void {
  const url = URL.createObjectURL(bytes);
  const anchor = document.createElement("a");
  anchor.href = url;
  anchor.download = name;
  anchor.click();
  setTimeout(() => URL.revokeObjectURL(url), 60000);
}

function told_of(taken: Taken): string {
  if (!taken.approved) {
    return `${taken.answers} answers taken. The picture may differ now: send a new file for approval.`;
  }
  const again = taken.again ? "This approval was taken before." : "Approval recorded.";
  return `${again} ${taken.holds ? "It is of what the job shows now." : "But the job shows something else now:"}`;
}

function Code({ reload }: { reload: () => void }) {
  const [code, set_code] = useState("");
  const [name, set_name] = useState("");
  const [taken, set_taken] = useState<Taken | null>(null);
  return (
    <>
      <h3>A code came back</h3>
      <form
        class="line-form"
        onSubmit={(event) => {
          event.preventDefault();
          set_taken(null);
          void attempt(() =>
            brief_api.code(current_job.value, code, name.normalize("NFC")),
          ).then((answer) => {
            if (answer) {
              set_taken(answer);
              set_code("");
              reload();
            }
          });
        }}
      >
        <label>
          code
          <input
            required
            value={code}
            autocomplete="off"
            onInput={(event) => set_code(event.currentTarget.value)}
          />
        </label>
        <label>
          name that was typed with it
          <input
            required
            value={name}
            autocomplete="off"
            onInput={(event) => set_name(event.currentTarget.value)}
          />
        </label>
        <button type="submit">take it</button>
      </form>
      {taken && (
        <div class="moved" role="status">
          <p>{told_of(taken)}</p>
          {taken.changes.length > 0 && <ChangeList changes={taken.changes} />}
        </div>
      )}
    </>
  );
}

function Sent({ links, packs, end }: { links: Link[]; packs: Pack[]; end: (n: number) => void }) {
  return (
    <ul class="books">
      {links.map((one) => {
        const over = one.ended || one.ends_s * 1000 < Date.now();
        return (
          <li key={`link ${one.link}`}>
            link for {one.what}, until {day(one.ends_s)}
            <small>{one.used_s > 0 ? `last opened ${day(one.used_s)}` : "never opened"}</small>
            {over ? (
              <small>{one.ended ? "taken back" : "over"}</small>
            ) : (
              <button type="button" onClick={() => end(one.link)}>
                take back
              </button>
            )}
          </li>
        );
      })}
      {packs.map((one) => (
        <li key={`pack ${one.pack}`}>
          file {one.pack} for {one.what}, until {day(one.ends_s)}
          <small>made {clock(one.at)}</small>
        </li>
      ))}
    </ul>
  );
}

function Customer({ brief, reload }: { brief: Brief; reload: () => void }) {
  const job = current_job.value;
  const [what, set_what] = useState("");
  const [made, set_made] = useState("");
  const [links, set_links] = useState<Link[]>([]);
  const [packs, set_packs] = useState<Pack[]>([]);
  const round = changes.value;
  const look = () =>
    void attempt(() => brief_api.links(job)).then((answer) => {
      set_links(answer?.links ?? []);
      set_packs(answer?.packs ?? []);
    });
  useEffect(look, [job, round]);

  const make_link = async () => {
    const answer = await attempt(() => brief_api.link(job, what, 14));
    if (answer) {
      set_made(`${answer.desk || `${location.origin}/`}${answer.path}`);
      look();
    }
  };
  const make_pack = async () => {
    const answer = await attempt(() => brief_api.pack(job, what));
    if (answer) {
      save(new Blob([answer], { type: "text/html" }), `${job}.html`);
      set_made("");
      look();
    }
  };
  return (
    <section>
      <h2>The customer</h2>
      <ApprovalState brief={brief} />
      {brief.panel ? (
        <>
          <h3>Ask for approval</h3>
          <form class="line-form" onSubmit={(event) => event.preventDefault()}>
            <label>
              for whom
              <input
                required
                maxLength={100}
                value={what}
                onInput={(event) => set_what(event.currentTarget.value)}
              />
            </label>
            <button
              type="button"
              disabled={what.trim() === ""}
              onClick={() => void make_link()}
            >
              a link (14 days)
            </button>
            <button
              type="button"
              disabled={what.trim() === ""}
              onClick={() => void make_pack()}
            >
              a file to send
            </button>
          </form>
          {made !== "" && (
            <p class="moved">
              Shown this once; it opens where this desk can be reached: <br />
              <a href={made}>{made}</a>
            </p>
          )}
          <p class="quiet">
            A link opens where the customer's phone reaches this desk. The file needs no desk: it
            answers with a code.
          </p>
          <Code reload={reload} />
          <Sent
            links={links}
            packs={packs}
            end={(number) =>
              void attempt(() => brief_api.end_link(job, number)).then(() => look())
            }
          />
        </>
      ) : (
        <p>There is no panel in this job yet, so there is nothing to show a customer.</p>
      )}
    </section>
  );
}

export function BriefPage() {
  const job = current_job.value;
  const [brief, set_brief] = useState<Brief | null>(null);
  const [round_here, set_round_here] = useState(0);
  const round = changes.value;
  useEffect(() => {
    let current = true;
    void attempt(() => brief_api.brief(job)).then((answer) => {
      if (current && answer) {
        set_brief(answer);
      }
    });
    return () => {
      current = false;
    };
  }, [job, round, round_here]);
  const reload = () => set_round_here((count) => count + 1);
  return (
    <div class="plain">
      <h1>Brief</h1>
      {brief === null ? (
        <p>Reading the brief ...</p>
      ) : (
        <div class="columns">
          <Options brief={brief} reload={reload} />
          <div>
            <Customer brief={brief} reload={reload} />
            <Answers brief={brief} />
            <Gates brief={brief} />
          </div>
        </div>
      )}
    </div>
  );
}
