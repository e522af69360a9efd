// Hover: is the setup what we think it is? The checks to make, where to stop, and what an odd observation means.

import { type ReactNode, useState } from "react";

import { write } from "../../data/api";
import { useDraft } from "../../data/draft";
import { useJob } from "../../data/job";
import { usePlace } from "../../data/place";
import { useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { Choice } from "../../parts/Choice";
import { Findings } from "../../parts/Findings";
import { Problems } from "../../parts/Problems";
import { SignOff } from "../../parts/SignOff";
import { useSending } from "../../parts/Statement";
import { Work } from "../../parts/Work";
import { decimals, moment } from "../../units/units";
import type { CheckOfPlan, HoverAnswer, StandingSaid, StudyOfSetup, SupposeAnswer } from "../../wire/api.gen";
import { words } from "../../words";
import { Matrix } from "./Matrix";

const said = words.hover;
const ODD = "what-was-seen";
const REASONS = 2;

export default function Hover(): ReactNode {
  const { name, setups } = useJob();
  const { setup, show } = usePlace();
  const [odd, typeOdd] = useDraft(`seen.${name}.${setup}`);
  const addOdd = (line: string): void => {
    typeOdd(odd.trim() === "" ? line : `${odd.trim()}\n${line}`);
    document.getElementById(ODD)?.focus();
  };
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
          {answered.findings.length > 0 && <Findings findings={answered.findings.filter((one) => one.setup === "" || one.setup === setup)} />}
          <Plan study={study} unit={unit} onOdd={addOdd} />
          <Holds study={study} unit={unit} />
          <Matrix study={study} />
          <Uncaught study={study} />
        </>
      )}
      <div className="beside">
        <Odd study={study} setup={setup} text={odd} onType={typeOdd} />
        <Suppose setup={setup} />
      </div>
      {fresh && <SignOff station="hover" />}
      <p className="faint">{words.common.caution}</p>
    </>
  );
}

const answer = (study: StudyOfSetup): string =>
  said.answer(study.checks.length, decimals(study.minutes, study.minutes < 10 ? 1 : 0), said.inTen(study.harmful), said.inTen(study.harmful_left));

/** The plan as a numbered list; each check is ticked with what was seen, and stands for this revision. */
function Plan({ study, unit, onOdd }: { study: StudyOfSetup; unit: string; onOdd: (line: string) => void }): ReactNode {
  const { name } = useJob();
  const { value } = useDocument("GET /api/jobs/{job}/statements", { at: { job: name } });
  const ticked = value?.document.checks.filter((one) => one.setup === study.setup && one.stands) ?? [];
  return (
    <section>
      <h2>{said.plan}</h2>
      <ol className="plan">
        {study.checks.map((check) => (
          <Check key={check.name} check={check} setup={study.setup} unit={unit} done={ticked.find((one) => one.subject === check.name)} onOdd={onOdd} />
        ))}
      </ol>
    </section>
  );
}

interface CheckProps {
  check: CheckOfPlan;
  setup: string;
  unit: string;
  done: StandingSaid | undefined;
  onOdd: (line: string) => void;
}

function Check({ check, setup, unit, done, onOdd }: CheckProps): ReactNode {
  const { name, revision } = useJob();
  const { may } = useSession();
  const { busy, run, problems } = useSending(name);
  const [seen, type, clear] = useDraft(`check.${name}.${setup}.${check.name}`);
  const tick = (): void =>
    void run(() => write("POST /api/jobs/{job}/checks", { check: check.name, setup, seen }, { at: { job: name }, basedOn: revision })).then(
      (good) => good && clear(),
    );
  return (
    <li className={done === undefined ? "check" : "check done"}>
      <p>
        <strong>{check.do}</strong> <span className="faint">{said.minutes(decimals(check.minutes, 1))}</span>
      </p>
      {check.caution !== "" && <p className="caution-said">⚠ {check.caution}</p>}
      <p className="faint">
        {check.sees.filter((one) => one.sheet !== null).map((one) => said.sees(one.what, sheetSays(one.sheet, unit))).join("; ")}{" "}
        {check.needs.length > 0 && said.needs(check.needs.join(", "))}
      </p>
      <Reasons check={check} />
      {done !== undefined && <p>✓ {said.doneBy(done.by, moment(done.at), String(done.body["seen"] ?? ""))}</p>}
      {done === undefined && may("setter") && (
        <div className="check-tick">
          <input className="input" aria-label={`${said.seenThere}: ${check.name}`} placeholder={said.seenThere} value={seen} onChange={(event) => type(event.target.value)} />
          <button type="button" className="button plain" aria-label={said.doneOf(check.name)} disabled={busy} onClick={tick}>
            {said.done}
          </button>
          <button
            type="button"
            className="button plain"
            aria-label={said.notSoOf(check.name)}
            onClick={() => onOdd([check.slug, check.on ?? "", seen.trim() || said.differs].filter((one) => one !== "").join(" "))}
          >
            {said.notSo}
          </button>
        </div>
      )}
      {problems}
    </li>
  );
}

/** Why a check is there: the worst slips it shows and what they would do, the others behind a click. */
function Reasons({ check }: { check: CheckOfPlan }): ReactNode {
  const lines = check.catches.map((one) => <li key={`${one.slug}${one.text}`}>{said.reason(one.text, said.outcome[one.outcome])}</li>);
  const more = lines.length - REASONS;
  return (
    <div className="reasons">
      <p>{said.reasons}</p>
      <ul>{lines.slice(0, REASONS)}</ul>
      {more > 0 && (
        <details>
          <summary>{said.reasonsMore(more)}</summary>
          <ul>{lines.slice(REASONS)}</ul>
        </details>
      )}
    </div>
  );
}

const sheetSays = (value: number | string | null, unit: string): string => (typeof value === "number" ? `${decimals(value, 3)} ${unit}` : (value ?? ""));

function Holds({ study, unit }: { study: StudyOfSetup; unit: string }): ReactNode {
  if (study.hold_points.length === 0) return null;
  const axes = (values: Record<string, number>): string =>
    Object.entries(values)
      .map(([axis, value]) => `${axis.toUpperCase()} ${decimals(value, 3)}`)
      .join("  ");
  return (
    <div className="wide">
      <table className="ruled">
        <caption>{said.hold}</caption>
        <thead>
          <tr>
            {[said.holdColumn.tool, said.holdColumn.line, said.holdColumn.shows, said.holdColumn.toGo, said.holdColumn.height].map((one) => (
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
                {words.common.line(hold.file, hold.line)}
                <br />
                <code>{hold.block}</code>
              </td>
              <td className="mono">
                {hold.offset} {axes(hold.shows)}
              </td>
              <td className="mono">{axes(hold.to_go)}</td>
              <td>{said.holdHeight(`${decimals(hold.height, 1)} ${unit}`, hold.surface)}</td>
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
          <li key={`${one.slug}${one.text}`}>{said.uncaughtOne(one.text, said.outcome[one.outcome], `${decimals(100 * one.by_plan, 0)} %`)}</li>
        ))}
      </ul>
    </details>
  );
}

/** Something looks odd: what was seen, and what would explain it. */
interface OddProps {
  study: StudyOfSetup | undefined;
  setup: string;
  text: string;
  onType: (text: string) => void;
}

function Odd({ study, setup, text, onType }: OddProps): ReactNode {
  const seen = text.split("\n").map((one) => one.trim()).filter((one) => one !== "");
  const found = study?.diagnosis;
  return (
    <section>
      <h2>{said.seen}</h2>
      <p className="faint">{said.seenHow}</p>
      <label className="pick">
        <span>{said.seenLabel}</span>
        <textarea id={ODD} className="input" rows={3} value={text} onChange={(event) => onType(event.target.value)} />
      </label>
      <Work asked={{ station: "hover", setup, seen }} label={said.why} going={said.whying} disabled={seen.length === 0} />
      {found !== undefined && found !== null && (
        <ol className="ranked">
          {found.ranked.slice(0, 5).map((one) => (
            <li key={`${one.slug}${one.text}`}>
              <strong>{said.probable(`${decimals(100 * one.probability, 0)} %`, one.text)}</strong> ({said.outcome[one.outcome]})
              {one.remedy !== "" && <p className="faint">{said.remedy(one.remedy)}</p>}
            </li>
          ))}
          <li>{said.probable(`${decimals(100 * found.no_slip, 0)} %`, said.noSlip)}</li>
          <li>{said.probable(`${decimals(100 * found.unlisted, 0)} %`, said.unlisted)}</li>
        </ol>
      )}
      {found?.next_check && <p>{said.nextCheck(found.next_check.do)}</p>}
    </section>
  );
}

/** What if one value were other than it should be. */
function Suppose({ setup }: { setup: string }): ReactNode {
  const { name } = useJob();
  const [text, setText] = useState("");
  const { value } = useDocument("GET /api/jobs/{job}/hover", { at: { job: name }, query: { station: "suppose" } });
  const found = value?.document.document as SupposeAnswer | null | undefined;
  const suppose = text.trim() === "" ? [] : [text.trim()];
  return (
    <section>
      <h2>{said.what}</h2>
      <p className="faint">{said.whatHow}</p>
      <label className="pick">
        <span>{said.whatLabel}</span>
        <input className="input" value={text} onChange={(event) => setText(event.target.value)} />
      </label>
      <Work asked={{ station: "suppose", setup, suppose }} label={said.whatGo} going={said.whating} disabled={suppose.length === 0} />
      {found !== undefined && found !== null && (
        <p className="supposed">
          {said.whatSaid(found.suppositions.map((one) => one.words).join("; "))} <strong>{said.outcome[found.consequence.outcome]}</strong>.{" "}
          {found.consequence.text}
        </p>
      )}
    </section>
  );
}
