// Piece: the first piece is measured, what now? What to type or to leave alone, what it will do, and the values behind it.

import { type ReactNode, useState } from "react";

import { useJob } from "../../data/job";
import { useLast } from "../../data/last";
import { usePlace } from "../../data/place";
import { useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { Entry } from "../../measure/Entry";
import { writtenOf } from "../../measure/values";
import { Written } from "../../measure/Written";
import { Choice } from "../../parts/Choice";
import { Findings } from "../../parts/Findings";
import { Problems } from "../../parts/Problems";
import { SignOff } from "../../parts/SignOff";
import { Work } from "../../parts/Work";
import type { PieceAnswer, PieceOfSetup } from "../../wire/api.gen";
import { words } from "../../words";
import { Advice } from "./Advice";
import { Drawing } from "./Drawing";
import { Outlook } from "./Outlook";

const said = words.piece;

export default function Piece(): ReactNode {
  const { name, revision, setups } = useJob();
  const { unit } = useSession();
  const { setup, show } = usePlace();
  const { value, error, again } = useDocument("GET /api/jobs/{job}/piece", { at: { job: name }, query: { setup, revision, units: unit } });
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
      {of.told !== null && <SignOff station="piece" />}
      <p className="faint">{words.common.caution}</p>
    </>
  );
}

function Station({ document, of }: { document: PieceAnswer; of: PieceOfSetup }): ReactNode {
  const { may } = useSession();
  const measured = of.pieces.filter((one) => writtenOf(of.lines, one).size > 0);
  const [open, setOpen] = useState(measured.length === 0);
  const last = measured.at(-1) ?? "";
  return (
    <>
      <h1 aria-live="polite">{of.answer}</h1>
      {!of.worked_out && (
        <>
          <p className="faint">{said.workHow}</p>
          <Work asked={{ station: "piece", setup: of.setup }} label={said.work} going={said.working} strong={measured.length > 0} />
        </>
      )}
      <Advice of={of} />
      {document.findings.length > 0 && <Findings findings={document.findings} setup={of.setup} />}
      {may("setter") && open && <Entry of={of} />}
      {may("setter") && !open && (
        <p>
          <button type="button" className="button" onClick={() => setOpen(true)}>
            {words.measure.open}
          </button>
        </p>
      )}
      <section>
        <h2>{last === "" ? said.picture : said.pictureOf(last)}</h2>
        <Drawing of={of} piece={last} />
      </section>
      <Outlook of={of} />
      <More of={of} />
      <Written of={of} />
    </>
  );
}

/** What cannot be told apart, what was not looked at, and what habits of correcting would cost. */
function More({ of: { told } }: { of: PieceOfSetup }): ReactNode {
  if (told === null) return null;
  const listed = (names: readonly string[] | undefined, tell: (names: string) => string): string => (names?.length ? tell(names.join("; ")) : "");
  const also = [listed(told.not_seen, said.notSeen), listed(told.not_measured, said.notMeasured), told.drifts === true ? said.drifts : ""];
  const lines = [...told.apart, told.habits_said, ...also].filter((one) => one !== "");
  if (lines.length === 0) return null;
  return (
    <section>
      <h2>{said.besides}</h2>
      <ul>
        {lines.map((one) => (
          <li key={one}>{one}</li>
        ))}
      </ul>
    </section>
  );
}
