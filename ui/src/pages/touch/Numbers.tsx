// The few numbers to type into the control, big, each with the field in which it is read back.

import { type ReactNode, useId, useState } from "react";

import { write } from "../../data/api";
import { useDraft } from "../../data/draft";
import { useJob } from "../../data/job";
import { useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { useSending } from "../../parts/Statement";
import { decimals, moment } from "../../units/units";
import type { Number as Fixed, TouchOfSetup } from "../../wire/api.gen";
import { words } from "../../words";
import { compare } from "./compare";

/** A number that goes into a register. */
export interface ToType {
  register: string;
  type: string;
  half: number | null;
  known: boolean;
}

/** Every number of a solution in the order in which a control lists them. */
export function toType(solution: TouchOfSetup): ToType[] {
  const offsets = Object.values(solution.offsets).flatMap((axes) => ["x", "y", "z"].flatMap((axis) => axes[axis] ?? []));
  return [...offsets, ...Object.values(solution.tool_lengths), ...Object.values(solution.tool_radii)].map(one);
}

const one = (number: Fixed): ToType => ({
  register: number.register ?? "",
  type: number.type ?? "",
  half: number.expanded_uncertainty,
  known: number.value !== null,
});

interface Props {
  solution: TouchOfSetup;
  unit: string;
  /** A solution that is only tried: nothing to read back yet. */
  trial: boolean;
  chosen: string;
  onChoose: (register: string) => void;
}

/** The numbers, those that nothing fixes yet named as such. */
export function Numbers({ solution, unit, trial, chosen, onChoose }: Props): ReactNode {
  const numbers = toType(solution);
  return (
    <section aria-label={words.touch.type} className={trial ? "numbers trial" : "numbers"}>
      <h2>{trial ? words.touch.trial : words.touch.type}</h2>
      {!trial && <p className="faint">{words.touch.typeHow}</p>}
      <ul className="number-list">
        {numbers.map((number) => (
          <NumberLine
            key={number.register}
            number={number}
            unit={unit}
            setup={solution.setup}
            trial={trial}
            chosen={number.register === chosen}
            onChoose={() => onChoose(number.register)}
          />
        ))}
      </ul>
      {!trial && <AllRead numbers={numbers.filter((number) => number.known)} setup={solution.setup} />}
    </section>
  );
}

const draftKey = (job: string, setup: string, register: string): string => `readback.${job}.${setup}.${register}`;

interface LineProps {
  number: ToType;
  unit: string;
  setup: string;
  trial: boolean;
  chosen: boolean;
  onChoose: () => void;
}

function NumberLine({ number, unit, setup, trial, chosen, onChoose }: LineProps): ReactNode {
  const { name } = useJob();
  const [shown, type] = useDraft(draftKey(name, setup, number.register));
  const said = useId();
  const [copied, setCopied] = useState(false);
  const compared = compare(number.type, shown);
  const copy = (): void => void navigator.clipboard.writeText(number.type).then(() => setCopied(true));
  return (
    <li className={chosen ? "number-line chosen" : "number-line"}>
      <button type="button" className="number-big" aria-pressed={chosen} onClick={onChoose}>
        <span className="number-into">
          {number.register}
          <span className="number-sure">{number.half !== null && words.touch.sure(decimals(number.half, unit === "in" ? 4 : 3), unit)}</span>
        </span>
        <span className={number.known ? "number-digits" : "faint"}>{number.known ? number.type : words.touch.open}</span>
      </button>
      {!trial && number.known && (
        <div className="number-back">
          {window.isSecureContext && (
            <button type="button" className="button plain" aria-label={words.touch.copyOf(number.register)} onClick={copy}>
              {copied ? words.touch.copied : words.touch.copy}
            </button>
          )}
          <input
            className="input mono"
            inputMode="decimal"
            autoComplete="off"
            placeholder={words.touch.readBack}
            aria-label={words.touch.readBackOf(number.register)}
            aria-describedby={said}
            value={shown}
            onChange={(event) => type(event.target.value)}
          />
          <span id={said} className={`back-said ${compared.state}`} role="status">
            {compared.state === "same" && `✓ ${words.touch.same}`}
            {compared.state === "more" && `… ${words.touch.more}`}
            {compared.state === "differs" && `✗ ${words.touch.differs(compared.digit)}`}
          </span>
        </div>
      )}
    </li>
  );
}

/** Once every number is read back the same, whoever did it says so; it stands for this revision. */
function AllRead({ numbers, setup }: { numbers: ToType[]; setup: string }): ReactNode {
  const { name, revision } = useJob();
  const { may } = useSession();
  const { busy, run, problems } = useSending(name);
  const { value } = useDocument("GET /api/jobs/{job}/statements", { at: { job: name } });
  const done = value?.document.checks.find((check) => check.subject === words.touch.checkName && check.setup === setup && check.stands);
  if (done !== undefined) return <p>{words.touch.ticked(done.by, moment(done.at))}</p>;
  if (!may("setter") || numbers.length === 0) return null;
  const seen = numbers.map((number) => `${number.register} ${number.type}`).join(", ");
  const note = (): Promise<boolean> =>
    run(() =>
      write("POST /api/jobs/{job}/checks", { check: words.touch.checkName, setup, seen: seen.slice(0, 500) }, { at: { job: name }, basedOn: revision }),
    );
  return (
    <p className="all-read">
      <button type="button" className="button plain" disabled={busy} onClick={() => void note()}>
        {words.touch.tick}
      </button>
      {problems}
    </p>
  );
}
