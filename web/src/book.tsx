// Books: built beside, downloaded, the earlier ones.
import { useEffect, useState } from "preact/hooks";
import { brief_api, type Books } from "./brief_api";
import { attempt, changes, current_job, job_state } from "./state";

const ASK_AGAIN_MS = 700;

function Progress({ now, stop }: { now: Books["now"]; stop: () => void }) {
  if (!now) {
    return null;
  }
  if (now.elsewhere) {
    return <p role="status">The book of another job is being built; only one is at a time.</p>;
  }
  if (!now.running) {
    return now.problem ? <p role="status">{now.problem}</p> : null;
  }
  const of = now.of ?? 0;
  return (
    <div role="status">
      <p>
        Building: {now.what}
        {of > 0 && ` ${now.done} of ${of}`}
      </p>
      {of > 0 ? (
        <progress aria-label="pages done" value={now.done} max={of} />
      ) : (
        <progress aria-label="working" />
      )}
      <p>
        <button type="button" onClick={stop}>
          stop
        </button>
      </p>
    </div>
  );
}

export function BookPage() {
  const job = current_job.value;
  const [books, set_books] = useState<Books | null>(null);
  const [round_here, set_round_here] = useState(0);
  const round = changes.value;
  const running = books?.now?.running === true || books?.now?.elsewhere !== undefined;
  useEffect(() => {
    let current = true;
    void attempt(() => brief_api.books(job)).then((answer) => {
      if (current && answer) {
        set_books(answer);
      }
    });
    return () => {
      current = false;
    };
  }, [job, round, round_here]);
  useEffect(() => {
    if (!running) {
      return undefined;
    }
    const timer = setInterval(() => set_round_here((count) => count + 1), ASK_AGAIN_MS);
    return () => clearInterval(timer);
  }, [running]);
  const after = (work: Promise<unknown>) =>
    void work.then(() => set_round_here((count) => count + 1));
  const errors = (job_state.value?.open.error ?? 0) + (job_state.value?.open.unreadable ?? 0);
  return (
    <div class="plain">
      <h1>Book</h1>
      <p>
        Everything about this aircraft on paper: diagrams, connectors, lists, plots, findings. It is
        built of the job as it is now; you can go on working.
      </p>
      {errors > 0 && (
        <p class="waits">
          {errors} open finding{errors > 1 ? "s" : ""} of severity error: a book can be built, the
          aircraft can't
        </p>
      )}
      <p>
        <button
          type="button"
          disabled={running}
          onClick={() => after(attempt(() => brief_api.book(job)))}
        >
          build the book
        </button>
      </p>
      <Progress now={books?.now ?? null} stop={() => after(attempt(() => brief_api.stop_book(job)))} />
      <h2>Books of this job</h2>
      {books === null && <p>Looking ...</p>}
      {books?.books.length === 0 && <p>None was built yet.</p>}
      <ul class="books">
        {books?.books.map((book) => (
          <li key={book.book}>
            <a
              href={`/api/book/file?${new URLSearchParams({ job, book: String(book.book) })}`}
              download={`${job}-${book.revision || book.hash.slice(0, 8)}.pdf`}
            >
              {book.revision === "" ? book.hash.slice(0, 12) : `${book.revision} (${book.hash.slice(0, 12)})`}
            </a>
            <span>
              {book.pages} pages, {(book.bytes / 1e6).toFixed(1)} MB
            </span>
            <small>
              {book.at.replace("T", " ").replace("Z", " UTC")}, {book.person}, after act {book.act}
            </small>
          </li>
        ))}
      </ul>
    </div>
  );
}
