// Something looks odd: what was seen at which check, and what would explain it.

import { type ReactNode, useEffect, useRef, useState } from "react";

import { useDraft } from "../../data/draft";
import { useJob } from "../../data/job";
import { Choice } from "../../parts/Choice";
import { Work } from "../../parts/Work";
import type { CheckThere, DiagnosisSaid, StudyOfSetup } from "../../wire/api.gen";
import { words } from "../../words";
import { answersOf, checkTitle, furtherOf, inWords, isNumber, keptSeen, type Seen, sentence, sheetSays, sightName } from "./seen";

const said = words.hover;

/** A check that was not as on the sheet, and what was read there; `turn` counts how often that was said. */
export interface Asked {
  title: string;
  value: string;
  turn: number;
}

interface Props {
  study: StudyOfSetup | undefined;
  setup: string;
  unit: string;
  asked: Asked | undefined;
}

export function Odd({ study, setup, unit, asked }: Props): ReactNode {
  const { name } = useJob();
  const [kept, keep] = useDraft(`odd.${name}.${setup}`);
  if (study === undefined) return null;
  const seen = keptSeen(kept);
  const hold = (lines: Seen[]): void => keep(lines.length === 0 ? "" : JSON.stringify(lines));
  const add = (one: Seen): void => hold([...seen.filter((other) => other.title !== one.title || other.what !== one.what), one]);
  return (
    <section>
      <h2>{said.seen}</h2>
      <p className="faint">{said.seenHow}</p>
      <Enter key={asked?.turn ?? 0} study={study} unit={unit} asked={asked} onAdd={add} />
      {seen.length > 0 && (
        <ul className="seen-list" aria-label={said.seenLabel}>
          {seen.map((one) => (
            <li key={`${one.title} ${one.what}`}>
              <span>{inWords(one, unit)}</span>
              <button type="button" className="button plain" aria-label={said.takeOutOf(inWords(one, unit))} onClick={() => hold(seen.filter((other) => other !== one))}>
                {said.takeOut}
              </button>
            </li>
          ))}
        </ul>
      )}
      <Work asked={{ station: "hover", setup, seen: seen.map((one) => sentence(one, unit)) }} label={said.why} going={said.whying} disabled={seen.length === 0} />
      <Explained found={study.diagnosis ?? undefined} />
    </section>
  );
}

type Shown = "read" | "same";

function Enter({ study, unit, asked, onAdd }: Omit<Props, "setup" | "study"> & { study: StudyOfSetup; onAdd: (one: Seen) => void }): ReactNode {
  const checks: readonly CheckThere[] = study.could_see?.length ? study.could_see : study.checks;
  const [title, setTitle] = useState(asked?.title ?? "");
  const [what, setWhat] = useState("");
  const [shown, setShown] = useState<Shown>("read");
  const [value, setValue] = useState(asked?.value ?? "");
  const field = useRef<HTMLSelectElement>(null);
  useEffect(() => {
    if (asked !== undefined) field.current?.focus();
  }, [asked]);
  const check = checks.find((one) => checkTitle(one) === title);
  const sight = check?.sees.find((one) => one.what === what) ?? check?.sees[0];
  const number = sight !== undefined && isNumber(sight);
  const ready = sight !== undefined && (shown === "same" || !number || value.trim() !== "");
  const add = (): void => {
    if (check === undefined || sight === undefined || !ready) return;
    onAdd({ slug: check.slug, on: String(check.on ?? ""), title, what: sight.what, number, value: shown === "same" ? null : value.trim() });
    setValue("");
    setShown("read");
  };
  return (
    <form
      className="odd-entry"
      onSubmit={(event) => {
        event.preventDefault();
        add();
      }}
    >
      <label className="pick">
        <span>{said.check}</span>
        <select ref={field} className="input" value={title} onChange={(event) => setTitle(event.target.value)}>
          <option value="">{said.choose}</option>
          {checks.map((one) => (
            <option key={checkTitle(one)} value={checkTitle(one)}>
              {checkTitle(one)}
            </option>
          ))}
        </select>
      </label>
      {check !== undefined && check.sees.length > 1 && (
        <label className="pick">
          <span>{said.lookedAt}</span>
          <select className="input" value={sight?.what ?? ""} onChange={(event) => setWhat(event.target.value)}>
            {check.sees.map((one) => (
              <option key={one.what} value={one.what}>
                {sightName(one.what)}
              </option>
            ))}
          </select>
        </label>
      )}
      {sight !== undefined && (
        <>
          <Choice name="shown" label={said.shown} value={shown} choices={[["read", said.differs], ["same", said.asSheet]] as const} onChoose={setShown} />
          {shown === "read" && (
            <label className="pick">
              <span>{number ? said.readThere(unit, sheetSays(sight, unit)) : said.readThereOr}</span>
              <input className="input" autoComplete="off" inputMode={number ? "text" : undefined} value={value} onChange={(event) => setValue(event.target.value)} />
            </label>
          )}
        </>
      )}
      <button type="submit" className="button plain" disabled={!ready}>
        {said.add}
      </button>
    </form>
  );
}

/** What explains it, the most likely first, and what to look at next. */
function Explained({ found }: { found: DiagnosisSaid | undefined }): ReactNode {
  if (found === undefined) return null;
  return (
    <>
      <h3>{said.explained}</h3>
      <ol className="ranked" aria-label={said.explained}>
        {answersOf(found).map((one) => (
          <li key={one.text}>
            <strong>{said.probable(said.share(one.probability), one.text)}</strong>
            {one.ends !== "" && ` (${one.ends})`}
            {one.remedy !== "" && <p className="faint">{said.remedy(one.remedy)}</p>}
          </li>
        ))}
      </ol>
      {furtherOf(found).map((line) => (
        <p key={line}>{line}</p>
      ))}
    </>
  );
}
