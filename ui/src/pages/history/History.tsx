// History: what changed since the last time this job ran, and everything that ever happened to it.

import { type ReactNode, useState } from "react";

import { write } from "../../data/api";
import { useDraft } from "../../data/draft";
import { useJob } from "../../data/job";
import { useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { Problems } from "../../parts/Problems";
import { useSending } from "../../parts/Statement";
import { moment } from "../../units/units";
import { words } from "../../words";

const said = words.history;

export default function History(): ReactNode {
  const { name } = useJob();
  const since = useDocument("GET /api/jobs/{job}/since-last-run", { at: { job: name } });
  const all = useDocument("GET /api/jobs/{job}/history", { at: { job: name } });
  const last = since.value?.document;
  if (last === undefined) return since.error === undefined ? <p>{words.common.loading}</p> : <Problems error={since.error} onRetry={since.again} />;
  const { ran, changes } = last;
  return (
    <>
      <h1>{ran === null ? said.never : `${said.ran(moment(ran.at), ran.by, ran.revision)} ${changes.length === 0 ? said.same : said.changed(changes.length)}`}</h1>
      {changes.length > 0 && (
        <div className="wide">
          <table className="ruled">
            <caption className="unseen">{said.changed(changes.length)}</caption>
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
                  <td>{change.file}</td>
                  <td>{change.what}</td>
                  <td className="mono">{change.before ?? said.nothing}</td>
                  <td className="mono">{change.after ?? said.nothing}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      <div className="beside">
        <Ran />
        <Remark />
      </div>
      <div className="wide">
        <table className="ruled">
          <caption>{said.all}</caption>
          <thead>
            <tr>
              {[said.eventColumn.at, said.eventColumn.who, said.eventColumn.revision, said.eventColumn.what].map((one) => (
                <th key={one} scope="col">
                  {one}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {[...(all.value?.document.events ?? [])].reverse().map((event, index) => (
              <tr key={index}>
                <td>{moment(event.at)}</td>
                <td>{event.by}</td>
                <td>{event.revision}</td>
                <td>{event.text}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </>
  );
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
      className="small-form"
      onSubmit={(event) => {
        event.preventDefault();
        state();
      }}
    >
      <h2>{said.stateRun}</h2>
      <label className="pick">
        <span>{said.pieces}</span>
        <input className="input" inputMode="numeric" value={pieces} onChange={(event) => setPieces(event.target.value.replace(/\D/g, ""))} />
      </label>
      <label className="pick">
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
      className="small-form"
      onSubmit={(event) => {
        event.preventDefault();
        void run(() => write("POST /api/jobs/{job}/remarks", { text }, { at: { job: name }, basedOn: revision })).then((good) => good && clear());
      }}
    >
      <h2>{said.remark}</h2>
      <label className="pick">
        <span className="unseen">{said.remark}</span>
        <textarea className="input" rows={3} value={text} onChange={(event) => type(event.target.value)} />
      </label>
      <button type="submit" className="button plain" disabled={busy || text.trim() === ""}>
        {said.remarkGo}
      </button>
      {problems}
    </form>
  );
}
