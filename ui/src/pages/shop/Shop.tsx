// The shop: the machines, holding, tools and instruments that its jobs refer to.

import { type ReactNode, useState } from "react";

import { address, Link, useNavigation } from "../../app/router";
import { useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { Problems } from "../../parts/Problems";
import { moment } from "../../units/units";
import type { ThingSaid } from "../../wire/api.gen";
import { words } from "../../words";

const said = words.shop;
const KINDS = ["machines", "holding", "tools", "instruments"] as const;

export default function Shop(): ReactNode {
  const { value, error, again } = useDocument("GET /api/shop");
  if (value === undefined) return error === undefined ? <p>{words.common.loading}</p> : <Problems error={error} onRetry={again} />;
  const { things, differing } = value.document;
  const there = things.filter((one) => one.sha256 !== null);
  const kinds = [...new Set([...KINDS, ...there.map((one) => one.kind)])];
  return (
    <>
      <h1>{there.length === 0 ? said.none : said.heading}</h1>
      {Object.keys(differing).length > 0 && (
        <section className="changed">
          <h2>{said.differing}</h2>
          <ul>
            {Object.entries(differing).map(([job, files]) => (
              <li key={job}>
                <Link to={address("/jobs/:job", { job })}>{said.differs(job, files.map(thingOf).join(", "))}</Link>
              </li>
            ))}
          </ul>
        </section>
      )}
      {kinds.map((kind) => (
        <Kind key={kind} kind={kind} things={there.filter((one) => one.kind === kind)} />
      ))}
    </>
  );
}

/** A thing of the shop by its kind and name, from the path of its file in a job: "tool end-mill-16". */
function thingOf(path: string): string {
  const [, kind = "", name = ""] = /([^/]+)\/([^/]+)\.[^.]+$/.exec(path) ?? [];
  const shown = said.kindOf[kind];
  return shown === undefined ? path : said.thing(shown, name);
}

function Kind({ kind, things }: { kind: string; things: ThingSaid[] }): ReactNode {
  const { may } = useSession();
  const name = said.kinds[kind] ?? kind;
  if (things.length === 0 && !may("lead")) return null;
  return (
    <section>
      <h2>{name}</h2>
      {things.length > 0 && (
        <table className="ruled">
          <caption className="unseen">{name}</caption>
          <thead>
            <tr>
              {[said.column.name, said.column.revision, said.column.by, said.column.at].map((one) => (
                <th key={one} scope="col">
                  {one}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {things.map((thing) => (
              <tr key={thing.name}>
                <th scope="row">
                  <Link to={address("/shop/:kind/:name", { kind, name: thing.name })} className="row-link">
                    {thing.name}
                  </Link>
                </th>
                <td>{thing.number}</td>
                <td>{thing.by}</td>
                <td>{moment(thing.at)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      {may("lead") && said.start[kind] !== undefined && <New kind={kind} label={said.add[kind] ?? name} />}
    </section>
  );
}

function New({ kind, label }: { kind: string; label: string }): ReactNode {
  const { go } = useNavigation();
  const [name, setName] = useState("");
  const good = /^[A-Za-z0-9][A-Za-z0-9._-]{0,79}$/.test(name);
  return (
    <details>
      <summary>{label}</summary>
      <form
        className="small-form"
        onSubmit={(event) => {
          event.preventDefault();
          if (good) go(address("/shop/:kind/:name", { kind, name }));
        }}
      >
        <label className="pick">
          <span>{said.newName}</span>
          <input className="input" autoComplete="off" value={name} onChange={(event) => setName(event.target.value)} />
        </label>
        <p className="faint">{said.newNameHow}</p>
        <button type="submit" className="button plain" disabled={!good}>
          {said.begin}
        </button>
      </form>
    </details>
  );
}
