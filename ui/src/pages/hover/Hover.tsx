// Hover: is the setup what we think it is? The checks to make, where to stop, and what an odd observation means.

import { type ReactNode, useState } from "react";

import { useJob } from "../../data/job";
import { usePlace } from "../../data/place";
import { useDocument } from "../../data/resource";
import { Choice } from "../../parts/Choice";
import { Findings } from "../../parts/Findings";
import { Problems } from "../../parts/Problems";
import { SignOff } from "../../parts/SignOff";
import { Work } from "../../parts/Work";
import { decimals } from "../../units/units";
import type { CheckOfPlan, HoverAnswer, StudyOfSetup } from "../../wire/api.gen";
import { words } from "../../words";
import { Matrix } from "./Matrix";
import { type Asked, Odd } from "./Odd";
import { Plan } from "./Plan";
import { checkTitle } from "./seen";
import { Suppose } from "./Suppose";

const said = words.hover;

export default function Hover(): ReactNode {
  const { name, setups } = useJob();
  const { setup, show } = usePlace();
  const [asked, setAsked] = useState<Asked & { setup: string }>();
  const askOdd = (check: CheckOfPlan, seen: string): void =>
    setAsked((before) => ({ setup, title: checkTitle(check), value: seen, turn: (before?.turn ?? 0) + 1 }));
  const { value, error, again } = useDocument("GET /api/jobs/{job}/hover", { at: { job: name } });
  if (value === undefined) return error === undefined ? <p>{words.common.loading}</p> : <Problems error={error} onRetry={again} />;
  const answered = value.document.document as HoverAnswer | null;
  const result = value.document.result;
  const study = answered?.setups.find((one) => one.setup === setup);
  const fresh = study !== undefined && value.document.current;
  const unit = answered?.units === "inch" ? "in" : "mm";
  return (
    <>
      <h1>{study === undefined ? said.none : answer(study)}</h1>
      {setups.length > 1 && (
        <Choice name="setup" label={said.setup} value={setup} choices={setups.map((one) => [one, one] as const)} onChoose={(one) => show({ setup: one })} />
      )}
      {result !== null && !value.document.current && <p className="changed">{said.old(result.revision)}</p>}
      <Work asked={{ station: "hover", setup }} label={study === undefined ? said.study : said.studyAgain} going={said.studying} strong={!fresh} />
      {study !== undefined && answered !== null && (
        <>
          {answered.findings.length > 0 && <Findings findings={answered.findings} only={(one) => one.setup === "" || one.setup === setup} setup={setup} />}
          <Plan study={study} unit={unit} onOdd={askOdd} />
          <Holds study={study} unit={unit} />
          <Matrix study={study} />
          <Uncaught study={study} />
        </>
      )}
      <div className="beside">
        <Odd key={`odd ${setup}`} study={study} setup={setup} unit={unit} asked={asked?.setup === setup ? asked : undefined} />
        <Suppose key={`suppose ${setup}`} study={study} setup={setup} unit={unit} />
      </div>
      {fresh && <SignOff station="hover" />}
      <p className="faint">{words.common.caution}</p>
    </>
  );
}

const answer = (study: StudyOfSetup): string =>
  said.answer(study.checks.length, decimals(study.minutes, study.minutes < 10 ? 1 : 0), said.inTen(study.harmful), said.inTen(study.harmful_left));

function Holds({ study, unit }: { study: StudyOfSetup; unit: string }): ReactNode {
  if (study.hold_points.length === 0) return null;
  const places = unit === "in" ? 4 : 3;
  const axes = (values: Record<string, number>): ReactNode =>
    Object.entries(values).map(([axis, value]) => (
      <span key={axis} className="axis-value">
        {axis.toUpperCase()} {decimals(value, places)}{" "}
      </span>
    ));
  return (
    <div className="wide">
      <table className="ruled">
        <caption>{said.hold}</caption>
        <thead>
          <tr>
            {[said.holdColumn.tool, said.holdColumn.line, said.holdColumn.shows(unit), said.holdColumn.toGo(unit), said.holdColumn.height].map((one) => (
              <th key={one} scope="col">
                {one}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {study.hold_points.map((hold) => (
            <tr key={hold.tool}>
              <th scope="row">T{hold.tool}</th>
              <td>
                {hold.within ? said.holdWithin : said.holdBefore} {words.common.line(hold.file, hold.line)}
                <br />
                <code>{hold.block}</code>
              </td>
              <td className="mono">
                <span className="axis-value">{hold.offset} </span>
                {axes(hold.shows)}
              </td>
              <td className="mono">{axes(hold.to_go)}</td>
              <td>{said.holdHeight(`${decimals(hold.height, places - 2)} ${unit}`, hold.surface)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

function Uncaught({ study }: { study: StudyOfSetup }): ReactNode {
  if (study.uncaught.length === 0) return null;
  return (
    <details>
      <summary>
        {said.uncaught} ({study.uncaught.length})
      </summary>
      <ul>
        {study.uncaught.map((one) => (
          <li key={`${one.slug}${one.text}`}>{said.uncaughtOne(one.text, said.outcome[one.outcome], said.share(one.by_plan))}</li>
        ))}
      </ul>
    </details>
  );
}
