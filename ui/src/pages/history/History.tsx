// History: what changed since the last time this job ran, and everything that ever happened to it.

import { type ReactNode, useState } from "react";

import { write } from "../../data/api";
import { byDay } from "../../data/days";
import { useDraft } from "../../data/draft";
import { useJob } from "../../data/job";
import { useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { Problems } from "../../parts/Problems";
import { useSending } from "../../parts/Statement";
import { moment, timeOf } from "../../units/units";
import type { Changed as Change } from "../../wire/api.gen";
import { words } from "../../words";

const said = words.history;
const FIRST = 40;
const MOST_REMARKS = 5;

export default function History(): ReactNode {
  const { name } = useJob();
  const since = useDocument("GET /api/jobs/{job}/since-last-run", { at: { job: name } });
  const last = since.value?.document;
  if (last === undefined) return since.error === undefined ? <p>{words.common.loading}</p> : <Problems error={since.error} onRetry={since.again} />;
  const { ran, changes } = last;
  return (
    <>
      <h1>{ran === null ? said.never : `${said.ran(moment(ran.at), ran.by, ran.revision)} ${changes.length === 0 ? said.same : said.changed(changes.length)}`}</h1>
      {changes.length > 0 && <ChangesTable changes={changes} label={said.changed(changes.length)} />}
      <Remarks />
      <Ran />
      <Remark />
      <Events />
    </>
  );
}

function ChangesTable({ changes, label }: { changes: readonly Change[]; label: string }): ReactNode {
  return (
    <div className="wide">
      <table className="ruled">
        <caption className="unseen">{label}</caption>
        <thead>
          <tr>
            {[said.column.file, said.column.what, said.column.before, said.column.after].map((one) => (
              <th key={one} scope="col">
                {one}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {changes.map((change, index) => (
            <tr key={index}>
              <th scope="row">{change.file}</th>
              <td>{change.what === "" ? said.wholeFile : change.what.replaceAll("_", " ")}</td>
              <td className="mono">{change.before ?? said.nothing}</td>
              <td className="mono strong">{change.after ?? said.nothing}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** What whoever was here before left for whoever comes next, the newest first. */
function Remarks(): ReactNode {
  const { name } = useJob();
  const { value } = useDocument("GET /api/jobs/{job}/statements", { at: { job: name } });
  const left = [...(value?.document.remarks ?? [])].reverse().slice(0, MOST_REMARKS);
  if (left.length === 0) return null;
  return (
    <section>
      <h2>{said.remarks}</h2>
      <ul className="remarks">
        {left.map((one) => (
          <li key={one.id}>
            {String(one.body["text"] ?? "")} <span className="faint">{said.leftBy(one.by, moment(one.at))}</span>
          </li>
        ))}
      </ul>
    </section>
  );
}

/** Everything that happened, day by day, the newest first. */
function Events(): ReactNode {
  const { name } = useJob();
  const { value } = useDocument("GET /api/jobs/{job}/history", { at: { job: name } });
  const [shown, show] = useState(FIRST);
  const events = [...(value?.document.events ?? [])].reverse();
  const days = byDay(events.slice(0, shown));
  return (
    <section>
      <div className="wide">
        <table className="ruled events">
          <caption>{said.all}</caption>
          <thead>
            <tr>
              {[said.eventColumn.at, said.eventColumn.what, said.eventColumn.who, said.eventColumn.revision].map((one) => (
                <th key={one} scope="col">
                  {one}
                </th>
              ))}
            </tr>
          </thead>
          {days.map(([day, inDay]) => (
            <tbody key={day}>
              <tr>
                <th scope="rowgroup" colSpan={4} className="day">
                  {day}
                </th>
              </tr>
              {inDay.map((event, index) => (
                <tr key={`${event.at}${index}`}>
                  <td className="event-time">{timeOf(event.at)}</td>
                  <td>{event.what === "revision" ? <RevisionMade number={event.revision} text={event.text} /> : sentence(event.text)}</td>
                  <td>{event.by}</td>
                  <td>{event.revision}</td>
                </tr>
              ))}
            </tbody>
          ))}
        </table>
      </div>
      {events.length > shown && (
        <button type="button" className="button plain" onClick={() => show(shown + FIRST)}>
          {said.older(events.length - shown)}
        </button>
      )}
    </section>
  );
}

const sentence = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** A revision, and what it changed, looked up once somebody wants to see it. */
function RevisionMade({ number, text }: { number: number; text: string }): ReactNode {
  const [open, setOpen] = useState(false);
  if (number === 1) return <strong>{sentence(text)}</strong>;
  return (
    <details className="revision" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>
        <strong>{sentence(text)}</strong>
      </summary>
      {open && <Changed number={number} />}
    </details>
  );
}

function Changed({ number }: { number: number }): ReactNode {
  const { name } = useJob();
  const { value, error, again } = useDocument("GET /api/jobs/{job}/changes", { at: { job: name }, query: { before: number - 1, after: number } });
  if (value === undefined) return error === undefined ? <p>{words.common.loading}</p> : <Problems error={error} onRetry={again} />;
  const { changes } = value.document;
  return changes.length === 0 ? <p>{said.sameAsBefore}</p> : <ChangesTable changes={changes} label={said.changedBy(number)} />;
}

function Ran(): ReactNode {
  const { name, revision } = useJob();
  const { may } = useSession();
  const { busy, run, problems } = useSending(name);
  const [pieces, setPieces] = useState("");
  const [note, type, clear] = useDraft(`ran.${name}`);
  if (!may("setter")) return null;
  const count = Number.parseInt(pieces, 10);
  const state = (): void =>
    void run(() => write("POST /api/jobs/{job}/runs", { pieces: count, note }, { at: { job: name }, basedOn: revision })).then((good) => {
      if (!good) return;
      clear();
      setPieces("");
    });
  return (
    <form
      className="row-form"
      onSubmit={(event) => {
        event.preventDefault();
        state();
      }}
    >
      <h2>{said.stateRun}</h2>
      <label className="pick narrow">
        <span>{said.pieces}</span>
        <input className="input" autoComplete="off" inputMode="numeric" value={pieces} onChange={(event) => setPieces(event.target.value.replace(/\D/g, ""))} />
      </label>
      <label className="pick wide-pick">
        <span>{said.note}</span>
        <input className="input" value={note} onChange={(event) => type(event.target.value)} />
      </label>
      <button type="submit" className="button plain" disabled={busy || !Number.isFinite(count)}>
        {said.stateRun}
      </button>
      {problems}
    </form>
  );
}

function Remark(): ReactNode {
  const { name, revision } = useJob();
  const { may } = useSession();
  const { busy, run, problems } = useSending(name);
  const [text, type, clear] = useDraft(`remark.${name}`);
  if (!may("setter")) return null;
  return (
    <form
      className="row-form"
      onSubmit={(event) => {
        event.preventDefault();
        void run(() => write("POST /api/jobs/{job}/remarks", { text }, { at: { job: name }, basedOn: revision })).then((good) => good && clear());
      }}
    >
      <h2>{said.remark}</h2>
      <label className="pick wide-pick">
        <span className="unseen">{said.remark}</span>
        <textarea className="input" rows={1} value={text} onChange={(event) => type(event.target.value)} />
      </label>
      <button type="submit" className="button plain" disabled={busy || text.trim() === ""}>
        {said.remarkGo}
      </button>
      {problems}
    </form>
  );
}
