// Touch: where is the part, really? The numbers to type, the readings behind them, and what each reading does to the answer.

import { type ReactNode, useEffect, useMemo, useState } from "react";

import { remove, Refused, write } from "../../data/api";
import { useDraft } from "../../data/draft";
import { useJob } from "../../data/job";
import { useLast } from "../../data/last";
import { usePlace } from "../../data/place";
import { useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { Choice } from "../../parts/Choice";
import { Findings } from "../../parts/Findings";
import { Problems } from "../../parts/Problems";
import { SignOff } from "../../parts/SignOff";
import { useSending } from "../../parts/Statement";
import { decimals, length, mm } from "../../units/units";
import type { ContactDot, Planned, ReadingsSaid, TouchAnswer, TouchOfSetup } from "../../wire/api.gen";
import { words } from "../../words";
import { Budget } from "./Budget";
import { Drawing } from "./Drawing";
import { Entry } from "./Entry";
import { Numbers, toType } from "./Numbers";
import { begun, besides, hasDigits, nextOf, nothingTyped, readingOf, type ReadingList, type Typed, touchOf, typedFrom, UNDER_A_TOOL, unitOf } from "./reading";

const QUICK_MS = 15;

export default function Touch(): ReactNode {
  const { name, revision, setups } = useJob();
  const { unit, may } = useSession();
  const { setup, show } = usePlace();
  const touched = useDocument("GET /api/jobs/{job}/touch", { at: { job: name }, query: { setup, revision, units: unit } });
  const readings = useDocument("GET /api/jobs/{job}/readings", { at: { job: name }, query: { revision } });
  const both =
    touched.value === undefined || readings.value === undefined
      ? undefined
      : { document: touched.value.document, at: touched.value.revision, written: readings.value.document };
  const last = useLast(`${name}/${setup}/${unit}`, both);
  const document = last?.document;
  const solution = document?.setups[0];
  const written = last?.written;
  const choice = setups.length > 1 && (
    <Choice
      name="setup"
      label={words.touch.setup}
      value={setup}
      choices={setups.map((one) => [one, one] as const)}
      onChoose={(one) => show({ setup: one })}
    />
  );
  if (last === undefined || document === undefined || solution === undefined || written === undefined) {
    const error = touched.error ?? readings.error;
    return error === undefined ? <p>{words.common.loading}</p> : <Problems error={error} onRetry={touched.again} />;
  }
  return (
    <>
      {choice}
      <Station key={setup} document={document} solution={solution} at={last.at} readings={written} may={may("setter")} />
      <SignOff station="touch" />
    </>
  );
}

interface StationProps {
  document: TouchAnswer;
  solution: TouchOfSetup;
  /** The revision the solution is of. */
  at: number;
  readings: ReadingsSaid;
  may: boolean;
}

interface Changing {
  list: ReadingList;
  number: number;
}

function Station({ document, solution, at, readings, may }: StationProps): ReactNode {
  const [chosenRegister, setRegister] = useState("");
  const [chosen, setChosen] = useState<number>();
  const [changing, setChanging] = useState<Changing>();
  const [open, setOpen] = useState(solution.picture.contacts.length === 0);
  const entry = useEntry(solution, at, readings, changing, () => setChanging(undefined));
  const shown = entry.trial ?? solution;
  const unit = document.units === "inch" ? "in" : "mm";
  const numbers = toType(shown);
  const held = readings.contact.filter((one) => one["setup"] === solution.setup).length + lengthsOf(readings, solution.setup).length;
  const register = numbers.some((one) => one.register === chosenRegister) ? chosenRegister : (numbers[0]?.register ?? "");
  const change = (list: ReadingList, number: number): void => {
    const written = readings[list][number - 1];
    if (written === undefined) return;
    entry.type(typedFrom(list, written, unitOf(readings.text)));
    setChanging({ list, number });
    window.scrollTo(0, 0);
  };
  return (
    <>
      <h1 aria-live="polite">{shown.answer}</h1>
      {shown.next_contact !== null && (
        <p>
          <strong>{words.touch.next}:</strong> {shown.next_contact}
        </p>
      )}
      {may && (
        <EntryOf
          entry={entry}
          solution={solution}
          shown={shown}
          unit={unit}
          changing={changing}
          open={open || changing !== undefined}
          onOpen={setOpen}
        />
      )}
      {document.findings.length > 0 && <Findings findings={document.findings} setup={solution.setup} />}
      <div className={numbers.length > 0 ? "touch-columns" : undefined}>
        {numbers.length > 0 && (
          <Numbers solution={shown} unit={unit} trial={entry.trial !== undefined} chosen={register} onChoose={setRegister} />
        )}
        <div>
          <Drawing picture={shown.picture} chosen={chosen} onChoose={setChosen} />
          {numbers.length > 0 && <Budget of={register} shares={shown.contributions[register] ?? []} unit={unit} />}
        </div>
      </div>
      <Slips solution={shown} />
      <Readings
        setup={solution.setup}
        dots={solution.picture.contacts}
        readings={readings}
        chosen={chosen}
        onChoose={setChosen}
        onChange={may ? change : undefined}
        mayTake={may}
      />
      {may && held > 0 && <TouchAgain setup={solution.setup} count={held} />}
      <Folded solution={shown} />
    </>
  );
}

const lengthsOf = (readings: ReadingsSaid, setup: string): Array<Record<string, unknown>> =>
  [...readings.tool_length, ...readings.tool_diameter].filter((one) => one["setup"] === setup);

/** All readings of the setup taken out at once, after a second press: the part was turned, or it is another day. */
function TouchAgain({ setup, count }: { setup: string; count: number }): ReactNode {
  const { name, revision } = useJob();
  const { busy, run, problems } = useSending(name);
  const [asked, setAsked] = useState(false);
  const out = (): void =>
    void run(() => remove("DELETE /api/jobs/{job}/readings", { at: { job: name }, query: { setup }, basedOn: revision })).then(() => setAsked(false));
  return (
    <div className="row">
      {asked ? (
        <>
          <span>{words.touch.againHow(count)}</span>
          <button type="button" className="button" disabled={busy} onClick={out}>
            {words.touch.againYes}
          </button>
          <button type="button" className="button plain" onClick={() => setAsked(false)}>
            {words.common.cancel}
          </button>
        </>
      ) : (
        <button type="button" className="button plain" onClick={() => setAsked(true)}>
          {words.touch.again}
        </button>
      )}
      {problems}
    </div>
  );
}

interface EntryState {
  typed: Typed;
  type: (typed: Typed) => void;
  trial: TouchOfSetup | undefined;
  ready: boolean;
  busy: boolean;
  keep: () => void;
  /** How many were kept or passed over. */
  done: number;
  /** What is still to be touched, without what was passed over. */
  plan: readonly Planned[];
  pass: () => void;
  leave: () => void;
  said: ReactNode;
}

interface Plan {
  /** What is still to be touched, without what was passed over. */
  plan: readonly Planned[];
  /** The newest revision that is known here: the next reading is added to it. */
  newest: number;
  pass: () => readonly Planned[];
  keptAs: (revision: number, plan: readonly Planned[]) => readonly Planned[];
  /** What was known from keeping readings is of no use: somebody else changed the job. */
  overtaken: () => void;
}

/** What is still to be touched, also before the page has heard of the readings that were just kept; `at`: the revision the solution is of. */
function usePlan({ plan }: TouchOfSetup, at: number): Plan {
  const [passed, setPassed] = useState<readonly string[]>([]);
  const [kept, setKept] = useState<{ revision: number; plan: readonly Planned[] }>();
  const without = (all: readonly Planned[], names: readonly string[]): readonly Planned[] => all.filter((one) => !names.includes(touchOf(one)));
  const held = kept !== undefined && kept.revision > at ? kept : { revision: at, plan };
  const left = without(held.plan, passed);
  const pass = (): readonly Planned[] => {
    const names = left[0] === undefined ? passed : [...passed, touchOf(left[0])];
    setPassed(names);
    return without(held.plan, names);
  };
  const keptAs = (revision: number, next: readonly Planned[]): readonly Planned[] => {
    setKept({ revision, plan: next });
    return without(next, passed);
  };
  return { plan: left, newest: held.revision, pass, keptAs, overtaken: () => setKept(undefined) };
}

/** What is being typed, kept in the browser; the solution with it, asked for as soon as it can be solved. A form without digits
 * stands at the next touch of the plan, unless something else was chosen meanwhile. */
function useEntry(solution: TouchOfSetup, at: number, readings: ReadingsSaid, changing: Changing | undefined, onKept: () => void): EntryState {
  const { setup } = solution;
  const { name, revision } = useJob();
  const { unit } = useSession();
  const { busy, run, problems } = useSending(name);
  const { plan, newest, pass, keptAs, overtaken } = usePlan(solution, at);
  const [text, typeText, clear] = useDraft(`reading.${name}.${setup}`);
  const next = changing === undefined ? plan[0] : undefined;
  const typed = useMemo<Typed>(() => {
    const draft = { ...nothingTyped(unit), ...(text === "" ? {} : (JSON.parse(text) as Partial<Typed>)) };
    return next !== undefined && draft.asked !== touchOf(next) && !hasDigits(draft) ? begun(draft, next) : draft;
  }, [text, unit, next]);
  const when = changing === undefined ? today() : writtenWhen(readings, changing);
  const reading = useMemo(() => readingOf(typed, setup, when), [typed, setup, when]);
  const [trial, setTrial] = useState<TouchOfSetup>();
  const [unsolved, setUnsolved] = useState<Error>();
  const [done, setDone] = useState(0);
  useEffect(() => {
    setUnsolved(undefined);
    if (reading === undefined) {
      setTrial(undefined);
      return undefined;
    }
    const abort = new AbortController();
    const body = { setup, kind: typed.list, reading, ...(changing === undefined ? {} : { number: changing.number }) };
    const timer = setTimeout(() => {
      write("POST /api/jobs/{job}/touch", body, { at: { job: name }, query: { units: unit }, signal: abort.signal }).then(
        ({ document }) => setTrial(document.setups[0]),
        (error: unknown) => {
          if (abort.signal.aborted) return;
          setTrial(undefined);
          if (error instanceof Refused) setUnsolved(error);
        },
      );
    }, QUICK_MS);
    return () => {
      clearTimeout(timer);
      abort.abort();
    };
  }, [reading, typed.list, setup, name, unit, changing, revision]);
  const leave = (): void => {
    clear();
    onKept();
  };
  const keep = (): void => {
    const made = readingOf(typed, setup, changing === undefined ? new Date().toISOString().slice(0, 19) : when);
    if (made === undefined) return;
    const before = changing === undefined ? undefined : readings[changing.list][changing.number - 1];
    const basedOn = Math.max(newest, revision);
    const body = { reading: { ...besides(before ?? {}), ...made } };
    const send = (): ReturnType<typeof post> => (changing === undefined ? post() : put(changing.number));
    const post = () => write("POST /api/jobs/{job}/readings/{kind}", body, { at: { job: name, kind: typed.list }, basedOn });
    const put = (number: number) =>
      write("PUT /api/jobs/{job}/readings/{kind}/{number}", body, { at: { job: name, kind: typed.list, number }, basedOn });
    let first: Planned | undefined;
    const work = async (): Promise<void> => {
      const got = await send();
      first = keptAs(got.revision, got.document.plan)[0];
    };
    void run(work).then((good) => {
      if (!good) return overtaken();
      const emptied = nextOf({ ...typed, tool: "" });
      typeText(JSON.stringify(first !== undefined && touchOf(first) !== typed.asked ? begun(emptied, first) : emptied));
      setDone((count) => count + 1);
      onKept();
    });
  };
  const passOver = (): void => {
    const first = pass()[0];
    typeText(JSON.stringify(first === undefined ? { ...nothingTyped(unit), step: typed.step } : begun(typed, first)));
    setDone((count) => count + 1);
  };
  const said = (
    <>
      {problems}
      <Problems error={unsolved} />
    </>
  );
  return { typed, type: (next) => typeText(JSON.stringify(next)), trial, ready: reading !== undefined, busy, keep, done, plan, pass: passOver, leave, said };
}

const today = (): string => new Date().toISOString().slice(0, 10);

/** The moment a reading carries; a change of its digits is no new moment. */
function writtenWhen(readings: ReadingsSaid, changing: Changing): string | undefined {
  const when = readings[changing.list][changing.number - 1]?.["when"];
  return typeof when === "string" ? when : undefined;
}

interface EntryOfProps {
  entry: EntryState;
  solution: TouchOfSetup;
  /** The solution with what is being typed, if it can be solved. */
  shown: TouchOfSetup;
  unit: string;
  changing: Changing | undefined;
  open: boolean;
  onOpen: (open: boolean) => void;
}

interface ShopDocument {
  instruments: Record<string, { name: string; kind: string }>;
  tools: Record<string, { name: string }>;
}

function EntryOf({ entry, solution, shown, unit, changing, open, onOpen }: EntryOfProps): ReactNode {
  const { job } = useJob();
  if (!open) {
    return (
      <p>
        <button type="button" className="button" onClick={() => onOpen(true)}>
          {words.touch.add}
        </button>
      </p>
    );
  }
  const shop = job.document["shop"] as ShopDocument;
  const own = job.document.setup.find((one) => one.name === solution.setup) as unknown as { tool: Array<{ station: number; use: string }> } | undefined;
  const setter = entry.typed.list === "tool_length";
  const [planned, ...after] = entry.plan;
  const instruments = Object.entries(shop.instruments)
    .filter(([, one]) => entry.typed.list === "tool_diameter" || (one.kind === "tool setter") === setter || one.kind === "height setter")
    .map(([key, one]) => [key, one.name] as const);
  const under = new Set(Object.keys(shop.instruments).filter((key) => UNDER_A_TOOL.has(shop.instruments[key]?.kind ?? "")));
  if (entry.typed.under) under.add(entry.typed.with);
  for (const one of entry.plan) if (one.tool !== null) under.add(one.with);
  under.add(solution.usual.under);
  const besideShop = new Set([...entry.plan.map((one) => one.with), ...Object.values(solution.usual), entry.typed.with].filter((key) => key !== "" && shop.instruments[key] === undefined));
  const offered = entry.typed.list === "contact" ? [...instruments, ...[...besideShop].map((key) => [key, key] as const)] : instruments;
  const tools = (own?.tool ?? []).map((one) => [one.station, shop.tools[one.use]?.name ?? one.use] as const);
  return (
    <Entry
      typed={entry.typed}
      type={entry.type}
      faces={solution.picture.faces}
      instruments={offered}
      under={under}
      tools={tools}
      usual={solution.usual}
      ready={entry.ready}
      busy={entry.busy}
      onKeep={entry.keep}
      done={entry.done}
      planned={
        changing === undefined && planned !== undefined && entry.typed.asked === touchOf(planned)
          ? { what: planned.what, after: after.length, pass: entry.pass }
          : undefined
      }
      changing={changing === undefined ? undefined : { number: changing.number, leave: entry.leave }}
      onClose={() => onOpen(false)}
      said={
        <>
          {offered.length === 0 && <p>{words.touch.noInstruments}</p>}
          {entry.trial === undefined ? !entry.ready && <p className="faint">{words.touch.trialNone}</p> : <Live solution={shown} unit={unit} />}
          {entry.said}
        </>
      }
    />
  );
}

/** The work offset with what is being typed, in one line beside the digits. */
function Live({ solution, unit }: { solution: TouchOfSetup; unit: string }): ReactNode {
  const offsets = toType(solution).filter((one) => / [XYZ]$/.test(one.register));
  if (offsets.length === 0) return null;
  return (
    <p className="live" role="status">
      {words.touch.trial}:{" "}
      {offsets.map((one) => (
        <span key={one.register} className="live-number">
          {one.register} <strong className="mono">{one.known ? one.type : words.touch.open}</strong>{" "}
          {one.half !== null && words.touch.sure(decimals(one.half, unit === "in" ? 4 : 3), unit)}
        </span>
      ))}
    </p>
  );
}

interface ReadingsProps {
  setup: string;
  /** Where the contacts lie, in their order; empty while nothing can be solved. */
  dots: readonly ContactDot[];
  readings: ReadingsSaid;
  chosen: number | undefined;
  onChoose: (number: number) => void;
  onChange: ((list: ReadingList, number: number) => void) | undefined;
  mayTake: boolean;
}

/** The readings of this setup; `number` is their place in the list of the whole job, as the server counts. */
function Readings({ setup, dots, readings, chosen, onChoose, onChange, mayTake }: ReadingsProps): ReactNode {
  const mine = (list: ReadingList): Array<{ number: number; reading: Record<string, unknown> }> =>
    readings[list].map((reading, index) => ({ number: index + 1, reading })).filter(({ reading }) => reading["setup"] === setup);
  const contacts = mine("contact");
  const lengths = mine("tool_length");
  const diameters = mine("tool_diameter");
  if (contacts.length + lengths.length + diameters.length === 0) return <p>{words.touch.none}</p>;
  const column = words.touch.column;
  return (
    <div className="wide">
      <table className="ruled">
        <caption>{words.touch.readings}</caption>
        <thead>
          <tr>
            {[column.number, column.face, column.toward, column.instrument, column.shown, column.off].map((one) => (
              <th key={one} scope="col">
                {one}
              </th>
            ))}
            {mayTake && (
              <th scope="col">
                <span className="unseen">{column.act}</span>
              </th>
            )}
          </tr>
        </thead>
        <tbody>
          {contacts.map(({ number, reading }, index) => (
            <Line key={`c${number}`} list="contact" number={number} reading={reading} dot={dots[index]} chosen={chosen} onChoose={onChoose} onChange={onChange} mayTake={mayTake} />
          ))}
          {lengths.map(({ number, reading }) => (
            <Line key={`l${number}`} list="tool_length" number={number} reading={reading} dot={undefined} chosen={chosen} onChoose={onChoose} onChange={onChange} mayTake={mayTake} />
          ))}
          {diameters.map(({ number, reading }) => (
            <Line key={`d${number}`} list="tool_diameter" number={number} reading={reading} dot={undefined} chosen={chosen} onChoose={onChoose} onChange={onChange} mayTake={mayTake} />
          ))}
        </tbody>
      </table>
    </div>
  );
}

interface LineProps {
  list: ReadingList;
  number: number;
  reading: Record<string, unknown>;
  dot: ContactDot | undefined;
  chosen: number | undefined;
  onChoose: (number: number) => void;
  onChange: ((list: ReadingList, number: number) => void) | undefined;
  mayTake: boolean;
}

function Line({ list, number, reading, dot, chosen, onChoose, onChange, mayTake }: LineProps): ReactNode {
  const { name, revision, job } = useJob();
  const { busy, run, problems } = useSending(name);
  const { unit } = useSession();
  const instrument = String(reading["with"] ?? "");
  const by = reading["tool"] === undefined ? "" : ` · T${String(reading["tool"])}`;
  const what = list === "contact" ? `${String(reading["on"] ?? "")}${by}` : words.touch.of[list](Number(reading["tool"]));
  const take = (): void =>
    void run(() => remove("DELETE /api/jobs/{job}/readings/{kind}/{number}", { at: { job: name, kind: list, number }, basedOn: revision }));
  return (
    <tr className={dot !== undefined && dot.number === chosen ? "chosen" : undefined}>
      <th scope="row">
        {dot === undefined ? (
          "–"
        ) : (
          <button type="button" className="button plain" onClick={() => onChoose(dot.number)}>
            {dot.number}
          </button>
        )}
      </th>
      <td>{what}</td>
      <td>{list === "tool_diameter" ? "" : String(reading["toward"] ?? "−Z").replace("-", "−")}</td>
      <td>{(job.document["shop"] as ShopDocument).instruments[instrument]?.name ?? instrument}</td>
      <td className="mono">{shownIn(reading)}</td>
      <td>
        {dot?.off_mm !== null && dot !== undefined && (unit === "inch" ? length(mm(dot.off_mm ?? 0), unit) : `${decimals(1000 * (dot.off_mm ?? 0), 0)} µm`)}
        {dot !== undefined && dot.odd !== "" && <strong> ▲ {dot.odd}</strong>}
        {problems}
      </td>
      {mayTake && (
        <td className="line-acts">
          {onChange !== undefined && (
            <button type="button" className="button plain" aria-label={words.touch.changeOf(number)} onClick={() => onChange(list, number)}>
              {words.touch.change}
            </button>
          )}
          <button type="button" className="button plain" aria-label={words.touch.takeOf(number)} disabled={busy} onClick={take}>
            {words.touch.take}
          </button>
        </td>
      )}
    </tr>
  );
}

/** What a reading shows, as written. */
function shownIn(reading: Record<string, unknown>): string {
  if (reading["shown"] !== undefined) return `Ø ${String(reading["shown"])}`;
  if (Array.isArray(reading["sides"])) return `${reading["sides"].join(" / ")}, ${words.touch.wide(String(reading["across"] ?? 0))}`;
  return Object.entries((reading["display"] ?? {}) as Record<string, unknown>)
    .map(([axis, value]) => `${axis.toUpperCase()} ${String(value)}`)
    .join("  ");
}

const WORTH_SAYING = 0.05;

function Slips({ solution }: { solution: TouchOfSetup }): ReactNode {
  const all = [...solution.slips, { probability: solution.unlisted ?? 0, text: words.hover.unlisted }];
  const probable = all.filter((slip) => slip.probability >= WORTH_SAYING).sort((a, b) => b.probability - a.probability);
  if (probable.length === 0) return null;
  return (
    <section>
      <h2>{words.touch.slips}</h2>
      <ul>
        {probable.map((slip) => (
          <li key={slip.text}>
            {decimals(100 * slip.probability, 0)} %: {slip.text}
          </li>
        ))}
      </ul>
      {solution.tells_apart !== null && <p>{words.touch.tellsApart(solution.tells_apart)}</p>}
    </section>
  );
}

/** What few need: what fixes each axis, what nobody checks, the block, what the control must hold. */
function Folded({ solution }: { solution: TouchOfSetup }): ReactNode {
  const unchecked = solution.unchecked.map((one) =>
    one.least_found === null ? words.touch.uncheckedAny(one.contact) : words.touch.uncheckedOne(one.contact, decimals(one.least_found, 3)),
  );
  return (
    <div className="details">
      <details>
        <summary>{words.touch.checks}</summary>
        <ul>
          {Object.entries(solution.determined).map(([axis, fixed]) => (
            <li key={axis}>{fixed.text}</li>
          ))}
          {solution.read_back.map((one) => (
            <li key={one}>{one}</li>
          ))}
          {unchecked.length > 0 && <li>{words.touch.unchecked(unchecked.join(", "))}</li>}
        </ul>
      </details>
      {solution.g10 !== "" && (
        <details>
          <summary>{words.touch.g10}</summary>
          <pre>{solution.g10}</pre>
        </details>
      )}
    </div>
  );
}
