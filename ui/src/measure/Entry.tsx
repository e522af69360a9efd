// The values of a piece, typed from the gauges in the order of the plan; kept together as lines of measured.csv.

import { type ReactNode, useId, useRef } from "react";

import { write } from "../data/api";
import { useDraft } from "../data/draft";
import { useJob } from "../data/job";
import { useDocument } from "../data/resource";
import { useSending } from "../parts/Statement";
import type { LineSaid, ToMeasureSaid } from "../wire/api.gen";
import { words } from "../words";
import { gaugeOf, linesOf, nextPiece, type SetupMeasured, type Typed, typedIn, writtenOf, wrongWith } from "./values";

const said = words.measure;

interface Props {
  of: SetupMeasured;
  /** The piece in hand, unless somebody types another one. */
  piece?: string | undefined;
  /** The features that come first, because one of them is due. */
  first?: string | undefined;
}

export function Entry({ of, piece: proposed, first }: Props): ReactNode {
  const { name, revision } = useJob();
  const { busy, run, problems } = useSending(name);
  const [text, typeText, clear] = useDraft(`measured.${name}.${of.setup}`);
  const { value: calculations } = useDocument("GET /api/jobs/{job}/calculations", { at: { job: name } });
  const form = useRef<HTMLFormElement>(null);
  const typed = typedIn(text);
  const type = (part: Partial<Typed>): void => typeText(JSON.stringify({ ...typed, ...part }));
  const piece = typed.piece || proposed || nextPiece(of);
  const plan = first === undefined ? of.plan : [...of.plan].sort((a, b) => Number(b.feature === first) - Number(a.feature === first));
  const held = writtenOf(of.lines, piece);
  const lines = linesOf(of.plan, of.setup, typed, piece, new Date().toISOString().slice(0, 19));
  const wrong = of.plan.some((row) => wrongWith(typed.values[row.feature] ?? "", gaugeOf(of.plan, row, typed.gauges)) !== "");
  const going = calculations?.document.calculations.some(
    (one) => one.station === "piece" && one.setup === of.setup && (one.state === "waiting" || one.state === "working"),
  );
  const keep = async (): Promise<void> => {
    await write("POST /api/jobs/{job}/measured", { lines }, { at: { job: name }, basedOn: revision });
    clear();
    if (of.worked_out || going === true) return;
    await write("POST /api/jobs/{job}/calculations", { station: "piece", setup: of.setup }, { at: { job: name } });
  };
  return (
    <section>
      <h2>{said.title}</h2>
      <form
        ref={form}
        onSubmit={(event) => {
          event.preventDefault();
          if (lines.length > 0 && !wrong && piece !== "" && !busy) void run(keep);
        }}
      >
        <div className="measure-piece">
          <label className="pick narrow">
            <span>{said.piece}</span>
            <input className="input" autoComplete="off" value={piece} maxLength={40} onChange={(event) => type({ piece: event.target.value.trim() })} />
          </label>
          <p className="faint">{held.size > 0 ? said.written(held.size, of.plan.length, piece) : said.order}</p>
        </div>
        <ol className="measure-list" aria-label={said.list}>
          {plan.map((row) => (
            <Row
              key={row.feature}
              row={row}
              number={of.plan.indexOf(row) + 1}
              value={typed.values[row.feature] ?? ""}
              gauge={gaugeOf(of.plan, row, typed.gauges)}
              held={held.get(row.feature)}
              onValue={(value) => type({ piece, values: { ...typed.values, [row.feature]: value } })}
              onGauge={(gauge) => type({ gauges: { ...typed.gauges, [row.feature]: gauge } })}
              onNext={() => next(form.current, row.feature)}
            />
          ))}
        </ol>
        <div className="measure-end">
          <button type="submit" className="button" disabled={lines.length === 0 || wrong || piece === "" || busy}>
            {said.keep(lines.length, piece)}
          </button>
          {piece === "" && <p>{said.noPiece}</p>}
        </div>
        {problems}
      </form>
    </section>
  );
}

/** The enter key leads to the next field, from the last one to the button. */
function next(form: HTMLFormElement | null, feature: string): void {
  const fields = [...(form?.querySelectorAll<HTMLElement>("input[data-feature]") ?? [])];
  const at = fields.findIndex((one) => one.dataset["feature"] === feature);
  (fields[at + 1] ?? form?.querySelector<HTMLElement>("button[type=submit]"))?.focus();
}

interface RowProps {
  row: ToMeasureSaid;
  number: number;
  value: string;
  gauge: string;
  held: LineSaid | undefined;
  onValue: (value: string) => void;
  onGauge: (gauge: string) => void;
  onNext: () => void;
}

function Row({ row, number, value, gauge, held, onValue, onGauge, onNext }: RowProps): ReactNode {
  const how = useId();
  const wrong = wrongWith(value, gauge);
  const chosen = row.instruments.find((one) => one.gauge === gauge);
  const note = wrong === "number" ? said.noNumber(value) : wrong === "gauge" ? said.noGauge : (chosen?.said ?? "");
  return (
    <li className="measure-row">
      <span className="measure-number" aria-hidden="true">
        {number}
      </span>
      <div className="measure-what">
        <strong>{row.feature}</strong>
        <span>{row.said}</span>
        {held !== undefined && <span className="measure-held">✓ {said.held(held.said)}</span>}
      </div>
      <label className="measure-value">
        <span className="unseen">{said.valueOf(row.feature)}</span>
        <input
          className="input mono"
          data-feature={row.feature}
          inputMode="decimal"
          enterKeyHint="next"
          autoComplete="off"
          aria-describedby={how}
          aria-invalid={wrong !== ""}
          value={value}
          onChange={(event) => onValue(event.target.value)}
          onKeyDown={(event) => {
            if (event.key !== "Enter") return;
            event.preventDefault();
            onNext();
          }}
        />
        <span aria-hidden="true">{row.unit === "deg" ? "°" : row.unit}</span>
      </label>
      <label className="measure-gauge">
        <span className="unseen">{said.gaugeOf(row.feature)}</span>
        <select className="input" value={gauge} onChange={(event) => onGauge(event.target.value)}>
          <option value="">{said.with}</option>
          {row.instruments.map((one) => (
            <option key={one.gauge} value={one.gauge}>
              {one.name}
            </option>
          ))}
        </select>
      </label>
      <p id={how} className={wrong === "" ? "measure-note faint" : "measure-note"} role={wrong === "" ? undefined : "status"}>
        {note}
      </p>
    </li>
  );
}
