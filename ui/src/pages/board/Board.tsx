import { type ChangeEvent, type DragEvent, type ReactNode, useRef, useState } from "react";

import { address, Link, useNavigation } from "../../app/router";
import { upload } from "../../data/api";
import { outdated, useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { Problems } from "../../parts/Problems";
import { moment } from "../../units/units";
import type { JobLine } from "../../wire/api.gen";
import { words } from "../../words";

/** Every job of the shop; a program file dropped here is a new one. */
export default function Board(): ReactNode {
  const { location, go } = useNavigation();
  const page = Math.max(1, Math.trunc(Number(location.query.get("page"))) || 1);
  const find = location.query.get("find") ?? "";
  const { value, error, again } = useDocument("GET /api/jobs", { query: { page, find } });
  const { may } = useSession();
  const answer = value?.document;
  const at = (number: number, text: string): string =>
    address("/", {}, { page: number === 1 ? undefined : number, find: text === "" ? undefined : text });
  return (
    <>
      <h1>{words.board.title}</h1>
      {may("setter") && <NewJob />}
      <Problems error={error} onRetry={again} />
      <Find find={find} onFind={(text) => go(at(1, text), { replace: true })} />
      {answer === undefined ? (
        <p>{error === undefined ? words.common.loading : ""}</p>
      ) : (
        <>
          <List jobs={answer.jobs} find={find} />
          {answer.pages > 1 && (
            <nav className="row" aria-label={words.board.pages}>
              {page > 1 && (
                <Link to={at(page - 1, find)} className="button">
                  {words.board.before}
                </Link>
              )}
              <span>{words.board.page(answer.page, answer.pages, answer.in_all)}</span>
              {answer.next !== null && (
                <Link to={at(answer.next, find)} className="button">
                  {words.board.next}
                </Link>
              )}
            </nav>
          )}
        </>
      )}
    </>
  );
}

/** A part of a name or title; the list follows when the field is left or the enter key pressed. */
function Find({ find, onFind }: { find: string; onFind: (text: string) => void }): ReactNode {
  const [text, setText] = useState(find);
  const leave = (): void => {
    if (text.trim() !== find) onFind(text.trim());
  };
  return (
    <form
      role="search"
      onSubmit={(event) => {
        event.preventDefault();
        leave();
      }}
    >
      <label className="pick wide-pick">
        <span>{words.board.find}</span>
        <input className="input" value={text} maxLength={100} onChange={(event) => setText(event.target.value)} onBlur={leave} />
      </label>
    </form>
  );
}

function List({ jobs, find }: { jobs: JobLine[]; find: string }): ReactNode {
  if (jobs.length === 0) return <p>{find === "" ? words.board.none : words.board.notFound(find)}</p>;
  return (
    <table className="ruled board">
      <caption className="unseen">{words.board.table}</caption>
      <thead>
        <tr>
          <th scope="col">{words.board.columns.name}</th>
          <th scope="col">{words.board.columns.changed}</th>
          <th scope="col" className="number">
            {words.board.columns.revision}
          </th>
        </tr>
      </thead>
      <tbody>
        {jobs.map((job) => (
          <tr key={job.name}>
            <th scope="row">
              <Link to={address("/jobs/:job", { job: job.name })} className="row-link">
                {job.title || job.name}
                {job.title !== "" && job.title !== job.name && <span className="faint"> {job.name}</span>}
              </Link>
            </th>
            <td>{words.board.changed(moment(job.at), job.by)}</td>
            <td className="number">{job.revision}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** The place to drop programs on, or to choose them with a key or a thumb. */
function NewJob(): ReactNode {
  const { go } = useNavigation();
  const [making, setMaking] = useState("");
  const [over, setOver] = useState(false);
  const [error, setError] = useState<Error>();
  const input = useRef<HTMLInputElement>(null);

  const make = async (files: readonly File[]): Promise<void> => {
    if (files.length === 0) return;
    setError(undefined);
    setMaking(files.map((file) => file.name).join(", "));
    const form = new FormData();
    const [first] = files;
    const whole = files.length === 1 && first !== undefined && first.name.toLowerCase().endsWith(".zip");
    for (const file of files) form.append(whole ? "folder" : "programs", file);
    try {
      const { document } = whole ? await upload("POST /api/jobs/import", form) : await upload("POST /api/jobs", form);
      outdated("/api/jobs");
      go(address(whole ? "/jobs/:job" : "/jobs/:job/prove", { job: document.revision.job }));
    } catch (stop) {
      setError(stop instanceof Error ? stop : new Error(String(stop)));
    } finally {
      setMaking("");
    }
  };
  const dropped = (event: DragEvent): void => {
    event.preventDefault();
    setOver(false);
    void make([...event.dataTransfer.files]);
  };
  const chosen = (event: ChangeEvent<HTMLInputElement>): void => {
    void make([...(event.target.files ?? [])]);
    event.target.value = "";
  };
  return (
    <section
      className={over ? "drop over" : "drop"}
      aria-label={words.board.drop}
      onDragOver={(event) => {
        event.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={dropped}
    >
      <div>
        <p className="drop-head">{over ? words.board.dropping : words.board.drop}</p>
        <p>{words.board.dropNext}</p>
      </div>
      <button type="button" className="button" disabled={making !== ""} onClick={() => input.current?.click()}>
        {words.board.choose}
      </button>
      <input ref={input} type="file" multiple hidden onChange={chosen} />
      <p role="status">{making === "" ? "" : words.board.making(making)}</p>
      <Problems error={error} />
    </section>
  );
}
