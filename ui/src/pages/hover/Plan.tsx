// The plan: the checks to make, in their order, each to be ticked off.

import type { ReactNode } from "react";

import { write } from "../../data/api";
import { useDraft } from "../../data/draft";
import { useJob } from "../../data/job";
import { useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { useSending } from "../../parts/Statement";
import { decimals, moment } from "../../units/units";
import type { CheckOfPlan, StandingSaid, StudyOfSetup } from "../../wire/api.gen";
import { words } from "../../words";
import { checkTitle, isNumber, sheetSays, sightName } from "./seen";

const said = words.hover;
const LONG = 60;

interface PlanProps {
  study: StudyOfSetup;
  unit: string;
  onOdd: (check: CheckOfPlan, value: string) => void;
}

/** The plan as a numbered list; each check is ticked with what was seen, and stands for this revision. */
export function Plan({ study, unit, onOdd }: PlanProps): ReactNode {
  const { name } = useJob();
  const { value } = useDocument("GET /api/jobs/{job}/statements", { at: { job: name } });
  const ticked = value?.document.checks.filter((one) => one.setup === study.setup && one.stands) ?? [];
  const doneOf = (check: CheckOfPlan): StandingSaid | undefined => ticked.find((one) => one.subject === checkTitle(check));
  const done = study.checks.filter((check) => doneOf(check) !== undefined).length;
  return (
    <section>
      <h2>
        {said.plan} <span className="plan-done">{study.checks.length > 0 && said.planDone(done, study.checks.length)}</span>
      </h2>
      <ol className="plan">
        {study.checks.map((check) => (
          <Check key={checkTitle(check)} check={check} setup={study.setup} unit={unit} done={doneOf(check)} onOdd={onOdd} />
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
  onOdd: (check: CheckOfPlan, value: string) => void;
}

function Check({ check, setup, unit, done, onOdd }: CheckProps): ReactNode {
  const { name, revision } = useJob();
  const { may } = useSession();
  const { busy, run, problems } = useSending(name);
  const title = checkTitle(check);
  const [seen, type, clear] = useDraft(`check.${name}.${setup}.${title}`);
  const tick = (): void =>
    void run(() => write("POST /api/jobs/{job}/checks", { check: title, setup, seen }, { at: { job: name }, basedOn: revision })).then(
      (good) => good && clear(),
    );
  if (done !== undefined) {
    return (
      <li className="check done">
        <h3>{title}</h3>
        <p>
          <span aria-hidden="true">✓ </span>
          {said.doneBy(done.by, moment(done.at), String(done.body["seen"] ?? ""))}
        </p>
      </li>
    );
  }
  return (
    <li className="check">
      <h3>
        {title} <span className="check-time">{said.minutes(decimals(check.minutes, 1), check.needs)}</span>
      </h3>
      <div className="check-parts">
        <div>
          <p>{check.do}</p>
          {check.caution !== "" && <p className="caution-said">⚠ {check.caution}</p>}
          <Reasons check={check} />
        </div>
        <div>
          <Sights check={check} unit={unit} />
          {may("setter") && (
            <div className="check-tick">
              <input className="input" autoComplete="off" aria-label={said.seenAt(title)} placeholder={said.seenThere} value={seen} onChange={(event) => type(event.target.value)} />
              <button type="button" className="button plain" aria-label={said.doneOf(title)} disabled={busy} onClick={tick}>
                {said.done}
              </button>
              <button type="button" className="button plain" aria-label={said.notSoOf(title)} onClick={() => onOdd(check, seen.trim())}>
                {said.notSo}
              </button>
            </div>
          )}
          {problems}
        </div>
      </div>
    </li>
  );
}

/** What to see, and what the sheet says there. */
function Sights({ check, unit }: { check: CheckOfPlan; unit: string }): ReactNode {
  const told = check.sees.filter((one) => one.sheet !== null);
  if (told.length === 0) return null;
  return (
    <dl className="sights">
      {told.map((one) => {
        const text = sheetSays(one, unit);
        const lines = text.length > LONG ? text.replaceAll(/ (?=\()|(?<=:) (?=at )|(?<=,) (?=to go)/g, "\n") : text;
        return (
          <div key={one.what}>
            <dt>{sightName(one.what)}</dt>
            <dd className={isNumber(one) || text.length <= LONG ? "sight-value" : "sight-text"}>{lines}</dd>
          </div>
        );
      })}
    </dl>
  );
}

/** Why a check is there: the worst slip it shows and what it would do, the others behind a click. */
function Reasons({ check }: { check: CheckOfPlan }): ReactNode {
  const [worst, ...others] = check.catches;
  if (worst === undefined) return null;
  return (
    <div className="reasons">
      <p>
        {said.reasons} {said.reason(worst.text, said.outcome[worst.outcome])}
      </p>
      {others.length > 0 && (
        <details>
          <summary>{said.reasonsMore(others.length)}</summary>
          <ul>
            {others.map((one) => (
              <li key={`${one.slug}${one.text}`}>{said.reason(one.text, said.outcome[one.outcome])}</li>
            ))}
          </ul>
        </details>
      )}
    </div>
  );
}
