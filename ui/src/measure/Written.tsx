// What was written of the pieces so far, and the way to take a wrong line out.

import type { ReactNode } from "react";

import { remove } from "../data/api";
import { useJob } from "../data/job";
import { useSession } from "../data/session";
import { useSending } from "../parts/Statement";
import { moment } from "../units/units";
import { words } from "../words";
import type { SetupMeasured } from "./values";

const said = words.measure;

export function Written({ of }: { of: SetupMeasured }): ReactNode {
  const { name, revision } = useJob();
  const { may } = useSession();
  const { busy, run, problems } = useSending(name);
  if (of.lines.length === 0) return null;
  const gauges = new Map(of.plan.flatMap((row) => row.instruments.map((one) => [one.gauge, one.name] as const)));
  const take = (line: number): void => void run(() => remove("DELETE /api/jobs/{job}/measured/{line}", { at: { job: name, line }, basedOn: revision }));
  return (
    <details>
      <summary>{said.lines(of.lines.length)}</summary>
      {problems}
      <div className="wide" tabIndex={0} role="region" aria-label={said.linesLabel}>
        <table className="ruled">
          <caption className="unseen">{said.linesLabel}</caption>
          <thead>
            <tr>
              <th scope="col">{said.column.piece}</th>
              <th scope="col">{said.column.feature}</th>
              <th scope="col" className="number">
                {said.column.value}
              </th>
              <th scope="col">{said.column.gauge}</th>
              <th scope="col">{said.column.when}</th>
              {may("setter") && (
                <th scope="col">
                  <span className="unseen">{said.column.take}</span>
                </th>
              )}
            </tr>
          </thead>
          <tbody>
            {of.lines.map((one) => (
              <tr key={one.line}>
                <td>{one.piece}</td>
                <th scope="row">{one.feature}</th>
                <td className="number">{one.said}</td>
                <td>{one.gauge === "typed" ? said.typedInto : (gauges.get(one.gauge) ?? one.gauge)}</td>
                <td>{one.when === null ? "" : moment(one.when)}</td>
                {may("setter") && (
                  <td>
                    <button type="button" className="button plain" aria-label={said.takeOf(one.line, one.feature)} disabled={busy} onClick={() => take(one.line)}>
                      {said.take}
                    </button>
                  </td>
                )}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </details>
  );
}
