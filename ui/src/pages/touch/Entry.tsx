// A reading being typed: with thick thumbs on the pad, or on the keyboard. What is typed is kept until the server has it.

import { type ReactNode, useEffect, useRef, useState } from "react";

import { Choice } from "../../parts/Choice";
import type { FaceDrawn, Usual } from "../../wire/api.gen";
import { words } from "../../words";
import { type Axis, type Field, fieldsOf, LISTS, MEASURED, moving, onFace, pressed, type ReadingList, type Typed, waysOf } from "./reading";

interface Props {
  typed: Typed;
  type: (typed: Typed) => void;
  faces: readonly FaceDrawn[];
  instruments: readonly (readonly [key: string, name: string])[];
  /** Which of them stand under a tool's tip. */
  under: ReadonlySet<string>;
  tools: readonly (readonly [station: number, name: string])[];
  /** What is likely used for each kind of touch. */
  usual: Usual;
  ready: boolean;
  busy: boolean;
  onKeep: () => void;
  /** How many readings were kept or passed over here: with each the first field takes the cursor for the next one. */
  done: number;
  /** The touch of the plan that is being read, how many follow it, and how to pass it over. */
  planned: { what: string; after: number; pass: () => void } | undefined;
  /** The reading that is being changed, and the way back. */
  changing: { number: number; leave: () => void } | undefined;
  onClose: () => void;
  said: ReactNode;
}

const KEYS = ["7", "8", "9", "4", "5", "6", "1", "2", "3", "0", ".", "sign"] as const;

export function Entry({ typed, type, faces, instruments, under, tools, usual, ready, busy, onKeep, done, planned, changing, onClose, said }: Props): ReactNode {
  const fields = fieldsOf(typed);
  const first = fields.find((one) => one.must)?.field ?? fields[0]?.field;
  const [field, setField] = useState<Field>(first ?? "x");
  const digits = useRef<HTMLDivElement>(null);
  useEffect(() => {
    if (done > 0) digits.current?.querySelector<HTMLInputElement>(`[name="${first}"]`)?.focus();
  }, [done]); // the cursor moves when a reading was kept, not when another field is the first one
  const face = faces.find((one) => one.name === typed.on);
  const set = (part: Partial<Typed>): void => type({ ...typed, ...part });
  const press = (key: string): void => set({ [field]: pressed(typed[field], key) });
  const tool = (
    <Pick
      label={words.touch.tool}
      value={typed.tool}
      onPick={(station) => {
        set({ tool: station });
        if (first !== undefined) setField(first);
      }}
      options={tools.map(([station, name]) => [String(station), `T${station} ${name}`])}
    />
  );
  const heading = changing === undefined ? words.touch.add : words.touch.changing(changing.number);
  return (
    <section aria-label={heading}>
      <h2>{heading}</h2>
      {planned !== undefined && (
        <p className="row">
          <span>
            <strong>{words.touch.planned}</strong> {planned.what}
            {planned.after > 0 && <span className="faint"> {words.touch.after(planned.after)}</span>}
          </span>
          <button type="button" className="button plain" onClick={planned.pass}>
            {words.touch.pass}
          </button>
        </p>
      )}
      <form
        className="entry"
        onSubmit={(event) => {
          event.preventDefault();
          if (ready && !busy) onKeep();
        }}
      >
        <div className="entry-what">
          {changing === undefined && (
            <Choice
              name="kind"
              label={words.touch.kind}
              value={typed.list}
              choices={LISTS.map((list) => [list, words.touch.kinds[list]] as const)}
              onChoose={(list: ReadingList) => set({ list, on: "", toward: list === "contact" ? typed.toward : "", with: "", under: false, tool: list === "contact" ? "" : typed.tool })}
            />
          )}
          {typed.list === "contact" ? (
            <>
              <Pick
                label={words.touch.face}
                value={typed.on}
                onPick={(on) => {
                  const next = onFace(typed, faces.find((one) => one.name === on), on, usual);
                  type(next);
                  if (next.toward !== typed.toward && next.toward !== "" && next.toward !== "sweep") setField(axisOf(next.toward));
                }}
                options={faces.filter((one) => one.ways.length > 0).map((one) => [one.name, one.name])}
              />
              <Choice
                name="toward"
                label={words.touch.toward}
                value={typed.toward}
                choices={waysOf(face).map((way) => [way, way === "sweep" ? words.touch.sweep : way.replace("-", "−")] as const)}
                onChoose={(toward) => {
                  type(moving(typed, toward, usual));
                  if (toward !== "sweep") setField(axisOf(toward));
                }}
              />
            </>
          ) : (
            tool
          )}
          {typed.list === "tool_diameter" && (
            <Choice
              name="measured"
              label={words.touch.measured}
              value={typed.measured}
              choices={MEASURED.map((way) => [way, words.touch.measuredAs[way]] as const)}
              onChoose={(measured) => set({ measured })}
            />
          )}
          <Pick
            label={words.touch.instrument}
            value={typed.with}
            onPick={(one) => set({ with: one, under: under.has(one), tool: typed.list === "contact" && !under.has(one) ? "" : typed.tool })}
            options={instruments}
          />
          {typed.list === "contact" && typed.under && tool}
        </div>
        <div className="entry-digits" ref={digits}>
          {fields.map(({ field: one, must }) => (
            <label key={one} className={must ? "digit-field" : "digit-field faint"}>
              {labelOf(one)}
              <input
                className="input mono digits"
                name={one}
                inputMode="none"
                autoComplete="off"
                value={typed[one]}
                onFocus={() => setField(one)}
                onChange={(event) => set({ [one]: event.target.value })}
              />
              <span>{typed.unit === "inch" ? "in" : "mm"}</span>
            </label>
          ))}
        </div>
        <Pad press={press} />
        <div className="entry-end">
          <button type="submit" className="button" disabled={!ready || busy}>
            {changing === undefined ? words.touch.keep : words.touch.keepChanged}
          </button>
          <button type="button" className="button plain" onClick={changing === undefined ? onClose : changing.leave}>
            {changing === undefined ? words.common.close : words.touch.leave}
          </button>
          {said}
        </div>
      </form>
    </section>
  );
}

const axisOf = (toward: string): Axis => toward.charAt(1).toLowerCase() as Axis;

const labelOf = (field: Field): string => (field.length === 1 ? words.touch.display(field.toUpperCase()) : words.touch.field[field as Exclude<Field, Axis>]);

interface PickProps {
  label: string;
  value: string;
  options: readonly (readonly [value: string, text: string])[];
  onPick: (value: string) => void;
}

function Pick({ label, value, options, onPick }: PickProps): ReactNode {
  return (
    <label className="pick">
      <span className="faint">{label}</span>
      <select className="input" value={value} onChange={(event) => onPick(event.target.value)}>
        <option value="" />
        {options.map(([one, text]) => (
          <option key={one} value={one}>
            {text}
          </option>
        ))}
      </select>
    </label>
  );
}

/** Large keys that write into the field in use; a press leaves the field in use. */
function Pad({ press }: { press: (key: string) => void }): ReactNode {
  const keep = (event: React.PointerEvent): void => event.preventDefault();
  return (
    <div className="pad" role="group" aria-label={words.touch.pad}>
      {KEYS.map((key) => (
        <button
          key={key}
          type="button"
          className="pad-key"
          tabIndex={-1}
          aria-label={key === "sign" ? words.touch.key.sign : undefined}
          onPointerDown={keep}
          onClick={() => press(key)}
        >
          {key === "sign" ? "±" : key}
        </button>
      ))}
      <button type="button" className="pad-key wide" tabIndex={-1} onPointerDown={keep} onClick={() => press("clear")}>
        {words.touch.key.clear}
      </button>
      <button type="button" className="pad-key" tabIndex={-1} aria-label={words.touch.key.back} onPointerDown={keep} onClick={() => press("back")}>
        ⌫
      </button>
    </div>
  );
}
