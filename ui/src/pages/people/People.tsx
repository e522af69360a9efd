// People: who works with the record and what each may do; and who changed what.

import { type ReactNode, useState } from "react";

import { read, write } from "../../data/api";
import { outdated, useDocument } from "../../data/resource";
import { useSession, type Role } from "../../data/session";
import { Problems } from "../../parts/Problems";
import { useSending } from "../../parts/Statement";
import { moment } from "../../units/units";
import type { AuditSaid, PersonSaid } from "../../wire/api.gen";
import { words } from "../../words";

const said = words.people;
const ROLES: readonly Role[] = ["viewer", "setter", "lead", "administrator"];

export default function People(): ReactNode {
  const { who } = useSession();
  const { value, error, again } = useDocument("GET /api/people");
  if (value === undefined) return error === undefined ? <p>{words.common.loading}</p> : <Problems error={error} onRetry={again} />;
  const { people } = value.document;
  return (
    <>
      <h1>{said.heading}</h1>
      {who?.accounts === false && <p>{said.noAccounts}</p>}
      {people.length > 0 && (
        <table className="ruled">
          <caption className="unseen">{said.heading}</caption>
          <thead>
            <tr>
              {[said.column.name, said.column.role, said.column.active, said.column.since].map((one) => (
                <th key={one} scope="col">
                  {one}
                </th>
              ))}
              <td />
            </tr>
          </thead>
          <tbody>
            {people.map((person) => (
              <Line key={person.name} person={person} />
            ))}
          </tbody>
        </table>
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
      className="small-form"
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
      <label className="pick">
        <span>{said.role}</span>
        <select className="input" value={role} onChange={(event) => setRole(event.target.value as Role)}>
          {ROLES.map((one) => (
            <option key={one} value={one}>
              {said.roleNames[one]}: {said.roles[one]}
            </option>
          ))}
        </select>
      </label>
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
  const more = async (): Promise<void> => {
    const last = lines.at(-1);
    if (last === undefined) return;
    const { document } = await read("GET /api/audit", { query: { before: last.id } });
    setOlder([...older, ...document.lines]);
  };
  const column = said.auditColumn;
  return (
    <div className="wide">
      <table className="ruled">
        <caption>{said.audit}</caption>
        <thead>
          <tr>
            {[column.at, column.who, column.what, column.about, column.from].map((one) => (
              <th key={one} scope="col">
                {one}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {lines.map((line) => (
            <tr key={line.id}>
              <td>{moment(line.at)}</td>
              <td>{line.by}</td>
              <td>{line.action}</td>
              <td>{line.subject}</td>
              <td>{line.address}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {lines.length >= 200 && (
        <button type="button" className="button plain" onClick={() => void more()}>
          {said.older}
        </button>
      )}
    </div>
  );
}
