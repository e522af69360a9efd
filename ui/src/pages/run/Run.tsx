// Run: does it stay good? When to measure next, one chart for each watched size, how the tools wear.

import { type ReactNode, useState } from "react";

import { useJob } from "../../data/job";
import { useLast } from "../../data/last";
import { usePlace } from "../../data/place";
import { useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { Entry } from "../../measure/Entry";
import { Written } from "../../measure/Written";
import { Choice } from "../../parts/Choice";
import { Findings } from "../../parts/Findings";
import { Problems } from "../../parts/Problems";
import { SignOff } from "../../parts/SignOff";
import { Work } from "../../parts/Work";
import type { RunAnswer, RunOfSetup, RunSaid, SeriesSaid } from "../../wire/api.gen";
import { words } from "../../words";
import { Chart } from "./Chart";

const said = words.run;

export default function Run(): ReactNode {
  const { name, revision, setups } = useJob();
  const { unit } = useSession();
  const { setup, show } = usePlace();
  const { value, error, again } = useDocument("GET /api/jobs/{job}/run", { at: { job: name }, query: { setup, revision, units: unit } });
  const document = useLast(`${name}/${setup}/${unit}`, value?.document);
  const of = document?.setups[0];
  const choice = setups.length > 1 && (
    <Choice name="setup" label={words.touch.setup} value={setup} choices={setups.map((one) => [one, one] as const)} onChoose={(one) => show({ setup: one })} />
  );
  if (document === undefined || of === undefined) return error === undefined ? <p>{words.common.loading}</p> : <Problems error={error} onRetry={again} />;
  return (
    <>
      {choice}
      <Station key={setup} document={document} of={of} />
      {of.told !== null && <SignOff station="run" />}
      <p className="faint">{words.common.caution}</p>
    </>
  );
}

function Station({ document, of }: { document: RunAnswer; of: RunOfSetup }): ReactNode {
  const { may } = useSession();
  const [open, setOpen] = useState(false);
  const { told } = of;
  const unit = document.units === "inch" ? "in" : "mm";
  const due = told?.series.find((one) => one.feature === told.next_due.feature)?.picture.due;
  const soonest = [...(told?.series ?? [])].sort((a, b) => a.picture.due - b.picture.due || (a.picture.gone ?? Infinity) - (b.picture.gone ?? Infinity));
  return (
    <>
      <h1 aria-live="polite" className={told === null ? undefined : "next-due"}>
        {of.answer !== "" ? of.answer : of.lines.length > 0 ? words.piece.notWorkedOut : said.none}
      </h1>
      {!of.worked_out && (
        <>
          <p className="faint">{words.piece.workHow}</p>
          <Work asked={{ station: "piece", setup: of.setup }} label={words.piece.work} going={words.piece.working} strong={of.lines.length > 0} />
        </>
      )}
      {may("setter") &&
        (open ? (
          <Entry of={of} piece={due === undefined || !of.pieces.every((one) => /^\d+$/.test(one)) ? undefined : String(due)} first={told?.next_due.feature} />
        ) : (
          <p>
            <button type="button" className="button" onClick={() => setOpen(true)}>
              {words.measure.open}
            </button>
          </p>
        ))}
      {document.findings.length > 0 && <Findings findings={document.findings} setup={of.setup} />}
      {told !== null && <Key typed={told.series.some((one) => one.typed !== 0)} />}
      <div className="run-charts">
        {soonest.map((one) => (
          <Watched key={one.feature} series={one} unit={unit} />
        ))}
      </div>
      {told !== null && <Tools told={told} />}
      {told !== null && <Processes told={told} />}
      <Written of={of} />
    </>
  );
}

/** What the lines of the charts mean. */
function Key({ typed }: { typed: boolean }): ReactNode {
  const lines = [
    ["limit", said.key.limit],
    ["control", said.key.control],
    ["ahead", said.key.ahead],
    ["due", said.key.due],
  ] as const;
  return (
    <p className="run-key">
      {lines.map(([kind, text]) => (
        <span key={kind}>
          <svg width="34" height="14" aria-hidden="true">
            <path className={kind} d="M0 7h34" />
          </svg>
          {text}
        </span>
      ))}
      {typed && <span>{said.key.typed}</span>}
    </p>
  );
}

function Watched({ series, unit }: { series: SeriesSaid; unit: string }): ReactNode {
  const { stands, limits, left, due } = series.said;
  return (
    <section className="run-watched">
      <h2>{series.feature}</h2>
      <p>
        <strong className="run-stands">{stands}</strong> {limits !== "" && <span className="faint">{said.limits(limits)}</span>}
      </p>
      <p>
        <strong>{due}</strong>
        {said.left(left)}
      </p>
      <Chart series={series} unit={unit} />
    </section>
  );
}

function Tools({ told }: { told: RunSaid }): ReactNode {
  if (told.tools.length === 0) return null;
  const column = said.column;
  return (
    <div className="wide" tabIndex={0} role="region" aria-label={said.tools}>
      <table className="ruled">
        <caption>{said.tools}</caption>
        <thead>
          <tr>
            <th scope="col">{column.tool}</th>
            <th scope="col">{column.feature}</th>
            {[column.worn, column.each, column.left, column.chance].map((one) => (
              <th key={one} scope="col" className="number">
                {one}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {told.tools.map((tool) => (
            <tr key={tool.number}>
              <th scope="row">T{tool.number}</th>
              <td>{tool.feature}</td>
              <td className="number">{tool.said.worn}</td>
              <td className="number">{tool.said.per_piece}</td>
              <td className="number">{tool.said.left}</td>
              <td className="number">{tool.said.chance}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** Whether each process is stable, and what it is capable of where that can be said. */
function Processes({ told }: { told: RunSaid }): ReactNode {
  if (told.charts.length === 0) return null;
  return (
    <section>
      <h2>{said.stable}</h2>
      <dl className="sights run-stable">
        {told.charts.map((one) => (
          <div key={one.feature}>
            <dt>{one.feature}</dt>
            <dd>{one.said}</dd>
          </div>
        ))}
      </dl>
    </section>
  );
}
