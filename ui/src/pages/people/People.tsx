// People: who works with the record and what each may do; and who changed what.

import { type ReactNode, useState } from "react";

import { address, Link } from "../../app/router";
import { read, write } from "../../data/api";
import { byDay } from "../../data/days";
import { outdated, useDocument } from "../../data/resource";
import { useSession, type Role } from "../../data/session";
import { Problems } from "../../parts/Problems";
import { useSending } from "../../parts/Statement";
import { moment, timeOf } from "../../units/units";
import type { AuditSaid, PersonSaid } from "../../wire/api.gen";
import { words } from "../../words";

const said = words.people;
/** Addresses of the computer the server runs on. */
const HERE = new Set(["127.0.0.1", "::1"]);
/** What is done to a person, not to a job. */
const PERSONAL = new Set(["signed in", "signed out", "sign-in refused", "person added", "person changed"]);
/** Lines the server gives at a time. */
const PAGE = 200;
const ROLES: readonly Role[] = ["viewer", "setter", "lead", "administrator"];

export default function People(): ReactNode {
  const { who } = useSession();
  const { value, error, again } = useDocument("GET /api/people");
  if (value === undefined) return error === undefined ? <p>{words.common.loading}</p> : <Problems error={error} onRetry={again} />;
  const { people } = value.document;
  return (
    <>
      <h1>{said.heading}</h1>
      {who?.accounts === false && <p className="changed">{said.noAccounts}</p>}
      {people.length > 0 && (
        <div className="wide">
          <table className="ruled people">
          <caption className="unseen">{said.heading}</caption>
          <thead>
            <tr>
              {[said.column.name, said.column.role, said.column.active, said.column.since].map((one) => (
                <th key={one} scope="col">
                  {one}
                </th>
              ))}
              <th scope="col">
                <span className="unseen">{said.column.door}</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {people.map((person) => (
              <Line key={person.name} person={person} />
            ))}
          </tbody>
        </table>
        </div>
      )}
      <Add />
      <Audit />
    </>
  );
}

function Line({ person }: { person: PersonSaid }): ReactNode {
  const { busy, run, problems } = useSending("");
  const change = (part: { role?: Role; active?: boolean }): void =>
    void run(() => write("PATCH /api/people/{name}", part, { at: { name: person.name } })).then(() => outdated("/api/people", "/api/audit"));
  return (
    <tr>
      <th scope="row">{person.name}</th>
      <td>
        <select className="input" aria-label={said.roleOf(person.name)} value={person.role} disabled={busy} onChange={(event) => change({ role: event.target.value as Role })}>
          {ROLES.map((role) => (
            <option key={role} value={role}>
              {said.roleNames[role]}
            </option>
          ))}
        </select>
      </td>
      <td>{person.active ? said.yes : said.no}</td>
      <td>{moment(person.at)}</td>
      <td>
        <button type="button" className="button plain" disabled={busy} onClick={() => change({ active: !person.active })}>
          {person.active ? said.shut(person.name) : said.let(person.name)}
        </button>
        {problems}
      </td>
    </tr>
  );
}

function Add(): ReactNode {
  const { busy, run, problems } = useSending("");
  const [name, setName] = useState("");
  const [password, setPassword] = useState("");
  const [role, setRole] = useState<Role>("setter");
  const add = (): void =>
    void run(() => write("POST /api/people", { name, password, role })).then((good) => {
      if (!good) return;
      setName("");
      setPassword("");
      outdated("/api/people", "/api/audit");
    });
  return (
    <form
      className="small-form people-form"
      onSubmit={(event) => {
        event.preventDefault();
        add();
      }}
    >
      <h2>{said.add}</h2>
      <label className="pick">
        <span>{said.name}</span>
        <input className="input" autoComplete="off" value={name} onChange={(event) => setName(event.target.value)} />
      </label>
      <label className="pick">
        <span>{said.password}</span>
        <input className="input" type="password" autoComplete="new-password" value={password} onChange={(event) => setPassword(event.target.value)} />
      </label>
      <fieldset className="roles">
        <legend>{said.role}</legend>
        {ROLES.map((one) => (
          <label key={one} className="role">
            <input type="radio" name="role" value={one} checked={role === one} onChange={() => setRole(one)} />
            <span>
              <strong>{said.roleNames[one]}</strong> {said.roles[one]}
            </span>
          </label>
        ))}
      </fieldset>
      <button type="submit" className="button" disabled={busy || name.trim() === "" || password === ""}>
        {said.addGo}
      </button>
      {problems}
    </form>
  );
}

function Audit(): ReactNode {
  const { value } = useDocument("GET /api/audit");
  const [older, setOlder] = useState<AuditSaid[]>([]);
  const lines = [...(value?.document.lines ?? []), ...older];
  const days = byDay(lines);
  const more = async (): Promise<void> => {
    const last = lines.at(-1);
    if (last === undefined) return;
    const { document } = await read("GET /api/audit", { query: { before: last.id } });
    setOlder([...older, ...document.lines]);
  };
  const column = said.auditColumn;
  return (
    <section>
      <div className="wide">
        <table className="ruled events">
          <caption>{said.audit}</caption>
          <thead>
            <tr>
              {[column.at, column.what, column.about, column.who, column.from].map((one) => (
                <th key={one} scope="col">
                  {one}
                </th>
              ))}
            </tr>
          </thead>
          {days.map(([day, inDay]) => (
            <tbody key={day}>
              <tr>
                <th scope="rowgroup" colSpan={5} className="day">
                  {day}
                </th>
              </tr>
              {inDay.map((line) => (
                <tr key={line.id}>
                  <td className="event-time">{timeOf(line.at)}</td>
                  <td>{done(line)}</td>
                  <td>{about(line)}</td>
                  <td>{line.by === "" ? said.nobody : line.by}</td>
                  <td>{HERE.has(line.address) ? said.here : line.address}</td>
                </tr>
              ))}
            </tbody>
          ))}
        </table>
      </div>
      {value !== undefined && lines.length === 0 && <p>{said.noAudit}</p>}
      {lines.length > 0 && lines.length % PAGE === 0 && (
        <button type="button" className="button plain" onClick={() => void more()}>
          {said.older}
        </button>
      )}
    </section>
  );
}

/** What was done, with the one detail that tells it from others. */
function done({ action, detail }: AuditSaid): string {
  const shown = action.charAt(0).toUpperCase() + action.slice(1);
  const { about: subject, revision, station } = detail;
  const name = words.common.station[(station ?? subject) as keyof typeof words.common.station] as string | undefined;
  if (action === "ran") return shown;
  if (name !== undefined) return said.doneWith(shown, name);
  if (action === "check done" && typeof subject === "string") return said.doneWith(shown, subject);
  return typeof revision === "number" ? said.doneWith(shown, said.revision(revision)) : shown;
}

/** What it was done to: a thing of the shop by its name, a person, a job. */
function about({ action, subject }: AuditSaid): ReactNode {
  if (action === "shop changed") return <Link to={`/shop/${subject}`}>{said.ofShop(subject.slice(subject.indexOf("/") + 1))}</Link>;
  if (PERSONAL.has(action)) return subject;
  return <Link to={address("/jobs/:job", { job: subject })}>{subject}</Link>;
}
