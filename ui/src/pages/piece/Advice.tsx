// What to type after a measured piece, big: the register, its new number, the change with its sign; ticked once it is typed and read back.

import { type ReactNode, useId, useState } from "react";

import { remove, write } from "../../data/api";
import { useDraft } from "../../data/draft";
import { useJob } from "../../data/job";
import { useSession } from "../../data/session";
import { nextPiece, typedAhead } from "../../measure/values";
import { useSending } from "../../parts/Statement";
import type { LineSaid, PieceOfSetup, RegisterSaid } from "../../wire/api.gen";
import { words } from "../../words";
import { compare } from "../touch/compare";

const said = words.piece;

export function Advice({ of }: { of: PieceOfSetup }): ReactNode {
  const { told } = of;
  const ahead = typedAhead(of.lines);
  if (told === null) return null;
  return (
    <>
      {told.registers.length > 0 && <p>{said.why(told.why)}</p>}
      {told.registers.length > 0 && (
        <section aria-label={said.type}>
          <h2>{said.type}</h2>
          <ul className="number-list">
            {told.registers.map((one) => (
              <RegisterLine key={one.name} register={one} of={of} />
            ))}
          </ul>
        </section>
      )}
      {ahead.length > 0 && (
        <ul className="typed-ahead" aria-label={said.typed}>
          {ahead.map((one) => (
            <TypedLine key={one.line} line={one} />
          ))}
        </ul>
      )}
    </>
  );
}

function RegisterLine({ register, of }: { register: RegisterSaid; of: PieceOfSetup }): ReactNode {
  const { name, revision } = useJob();
  const { may } = useSession();
  const { busy, run, problems } = useSending(name);
  const [shown, type, clear] = useDraft(`typed.${name}.${of.setup}.${register.name}`);
  const [copied, setCopied] = useState(false);
  const how = useId();
  const { said: digits } = register;
  const compared = compare(digits.type, shown);
  const piece = nextPiece(of);
  const [change = "", unit = ""] = digits.change.split(" ");
  const line = { piece, setup: of.setup, feature: register.name, value: change, unit, gauge: "typed" };
  const tick = (): void =>
    void run(() => write("POST /api/jobs/{job}/measured", { lines: [line] }, { at: { job: name }, basedOn: revision })).then((good) => good && clear());
  return (
    <li className="register-line">
      <div className="register-big">
        <span className="number-into">
          {register.name}
          <span className="number-sure">{digits.sure}</span>
        </span>
        <span className="number-digits">{digits.type}</span>
      </div>
      <p className="register-how">
        {said.holds(digits.holds, digits.beside ?? "")} <strong className="register-change">{digits.change}</strong>
        {digits.wear !== "" && said.wear(digits.wear)}
      </p>
      <div className="number-back">
        {window.isSecureContext && (
          <button
            type="button"
            className="button plain"
            aria-label={words.touch.copyOf(register.name)}
            onClick={() => void navigator.clipboard.writeText(digits.type).then(() => setCopied(true))}
          >
            {copied ? words.touch.copied : words.touch.copy}
          </button>
        )}
        <input
          className="input mono"
          inputMode="decimal"
          autoComplete="off"
          placeholder={words.touch.readBack}
          aria-label={words.touch.readBackOf(register.name)}
          aria-describedby={how}
          value={shown}
          onChange={(event) => type(event.target.value)}
        />
        <span id={how} className={`back-said ${compared.state}`} role="status">
          {compared.state === "same" && `✓ ${words.touch.same}`}
          {compared.state === "more" && `… ${words.touch.more}`}
          {compared.state === "differs" && `✗ ${words.touch.differs(compared.digit)}`}
        </span>
        {may("setter") && (
          <button type="button" className="button plain" aria-label={said.tickOf(register.name)} disabled={busy || piece === ""} onClick={tick}>
            {said.tick}
          </button>
        )}
      </div>
      {problems}
    </li>
  );
}

/** A change that stands in the control already, for a piece that is still to be cut; it can be taken back. */
function TypedLine({ line }: { line: LineSaid }): ReactNode {
  const { name, revision } = useJob();
  const { may } = useSession();
  const { busy, run, problems } = useSending(name);
  return (
    <li>
      <span>✓ {said.typedFor(line.feature, line.said, line.piece)}</span>
      {may("setter") && (
        <button
          type="button"
          className="button plain"
          aria-label={said.backOf(line.feature)}
          disabled={busy}
          onClick={() => void run(() => remove("DELETE /api/jobs/{job}/measured/{line}", { at: { job: name, line: line.line }, basedOn: revision }))}
        >
          {said.back}
        </button>
      )}
      {problems}
    </li>
  );
}
