import type { ReactNode } from "react";

import { address, Link } from "../../app/router";
import { useJob } from "../../data/job";
import { useSession } from "../../data/session";
import { decimals, duration, durationWithin, feed, force, kilowatts, type LengthUnit, length, lengthNumber, mm, mm3PerMin, mmPerMin, newtons, power, removalRate, seconds, volume, mm3 } from "../../units/units";
import type { ClearanceSaid, ContactSaid, FeatureSaid, ProofOfSetup } from "../../wire/api.gen";
import { words } from "../../words";

const CLOSEST = 12;

/** The few numbers of a proof. */
export function Facts({ proved, found }: { proved: ProofOfSetup; found: number }): ReactNode {
  const { unit } = useSession();
  const removed = volume(mm3(proved.removed_mm3), unit);
  const blank = volume(mm3(proved.blank_mm3), unit);
  return (
    <p>
      {proved.time_s === null
        ? words.prove.factsNoTime(removed, blank)
        : words.prove.facts(removed, blank, durationWithin(seconds(proved.time_s), proved.time_uncertainty_s))}{" "}
      {proved.offsets_from === "touch" ? words.prove.offsets.touch : words.prove.offsets.expected}{" "}
      {found === 0 && words.prove.allWell}
    </p>
  );
}

/** What stands behind the verdict, folded. */
export function Details({ proved, onShow }: { proved: ProofOfSetup; onShow: (pass: ClearanceSaid | ContactSaid) => void }): ReactNode {
  const { name } = useJob();
  return (
    <div className="details">
      {proved.contacts.length > 0 && (
        <details open>
          <summary>{words.prove.contacts}</summary>
          <Contacts contacts={proved.contacts} onShow={onShow} />
        </details>
      )}
      {proved.features.length > 0 && (
        <details>
          <summary>{words.prove.features}</summary>
          <Features features={proved.features} />
        </details>
      )}
      <details>
        <summary>{words.prove.clearances}</summary>
        <Passes passes={[...proved.clearance].sort((a, b) => a.least_mm - b.least_mm).slice(0, CLOSEST)} onShow={onShow} />
      </details>
      <details>
        <summary>{words.prove.tools}</summary>
        <Tools proved={proved} />
      </details>
      {proved.load.some((one) => one.peak_kw !== null) && (
        <details>
          <summary>{words.prove.load}</summary>
          <Load proved={proved} />
        </details>
      )}
      {proved.open.length > 0 && (
        <details open>
          <summary>{words.prove.notLookedAt}</summary>
          <ul>
            {proved.open.map((one) => (
              <li key={one.text}>{placed(one.text, one.file, one.line)}</li>
            ))}
          </ul>
        </details>
      )}
      {proved.rests_on.length > 0 && (
        <details open={proved.rests_on.some((one) => one.decides === true)}>
          <summary>{words.prove.guesses(proved.rests_on.length)}</summary>
          <ul>
            {proved.rests_on.map((one) => (
              <li key={`${one.file}${one.line}${one.guess}`}>{placed(one.how === "" ? one.guess : words.prove.guess(one.guess, one.how), one.file, one.line)}</li>
            ))}
          </ul>
          <p>
            <Link to={address("/jobs/:job/kit", { job: name }, { setup: proved.setup })}>{words.prove.toGuesses}</Link>
          </p>
        </details>
      )}
    </div>
  );
}

/** What there is to put right, with the place where it stands. */
const placed = (text: string, file: string, line: number): string => (line > 0 ? words.prove.placed(text, words.common.line(file, line)) : text);

function Heads({ names }: { names: readonly string[] }): ReactNode {
  return (
    <thead>
      <tr>
        {names.map((one) => (
          <th key={one} scope="col">
            {one}
          </th>
        ))}
      </tr>
    </thead>
  );
}

function Features({ features }: { features: readonly FeatureSaid[] }): ReactNode {
  const { unit } = useSession();
  const { name, nominal, simulated, spread, found, deviation, tolerance, state } = words.prove.feature;
  return (
    <div className="wide">
      <table className="ruled">
        <Heads names={[name, nominal, simulated, spread, found, deviation, tolerance, state]} />
        <tbody>
          {features.map((one) => (
            <tr key={one.name}>
              <th scope="row">{one.name}</th>
              <td>{size(one.nominal, unit)}</td>
              <td>{size(one.simulated, unit)}</td>
              <td>{one.least === null || one.greatest === null ? "" : words.prove.toRange(sizeNumber(one.least, unit), size(one.greatest, unit))}</td>
              <td>{share(one.found)}</td>
              <td>{signed(one.deviation, unit)}</td>
              <td>{one.tolerance === null ? "" : words.prove.toRange(bound(one.tolerance[0], unit), signed(one.tolerance[1], unit))}</td>
              <td className={one.state === "in" ? "" : "strong"}>
                {states[one.state] ?? one.state}
                {one.why !== "" && ` (${one.why})`}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

const states: Readonly<Record<string, string>> = words.prove.states;
const size = (value: number | null, unit: LengthUnit): string => length(value === null ? null : mm(value), unit);
const sizeNumber = (value: number, unit: LengthUnit): string => lengthNumber(mm(value), unit);
/** A share of a face, rounded down: the whole is 100 %. */
const share = (value: number): string => `${Math.floor(100 * value + 1e-9)} %`;
/** A deviation with its sign, as a drawing writes it; nothing before a zero. */
const bound = (value: number | null, unit: LengthUnit): string => {
  const text = lengthNumber(value === null ? null : mm(value), unit);
  return value !== null && value > 0 && Number(text) !== 0 ? `+${text}` : text;
};
const signed = (value: number | null, unit: LengthUnit): string => `${bound(value, unit)} ${unit === "inch" ? "in" : "mm"}`;

function Contacts({ contacts, onShow }: { contacts: readonly ContactSaid[]; onShow: (pass: ContactSaid) => void }): ReactNode {
  const { unit } = useSession();
  const { bodies, depth, tool, place } = words.prove.contact;
  return (
    <div className="wide">
      <table className="ruled">
        <Heads names={[bodies, depth, tool, place]} />
        <tbody>
          {contacts.map((one) => (
            <tr key={`${one.bodies.join()}${one.file}${one.line}${one.motion}`}>
              <th scope="row">{words.prove.between(...one.bodies)}</th>
              <td>{length(mm(one.depth_mm), unit, 2)}</td>
              <td>T{one.tool}</td>
              <td>
                <ShowPass pass={one} onShow={onShow} />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

function Passes({ passes, onShow }: { passes: readonly ClearanceSaid[]; onShow: (pass: ClearanceSaid) => void }): ReactNode {
  const { unit } = useSession();
  const { bodies, least, margin, place, tool } = words.prove.clearance;
  return (
    <div className="wide">
      <table className="ruled">
        <Heads names={[bodies, least, margin, tool, place]} />
        <tbody>
          {passes.map((one) => (
            <tr key={`${one.bodies.join()}${one.file}${one.line}${one.tool}`}>
              <th scope="row">{words.prove.between(...one.bodies)}</th>
              <td>{length(mm(one.least_mm), unit, 2)}</td>
              <td>{length(mm(one.margin_mm), unit, 2)}</td>
              <td>T{one.tool}</td>
              <td>
                <ShowPass pass={one} onShow={onShow} />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

function ShowPass<One extends ClearanceSaid | ContactSaid>({ pass, onShow }: { pass: One; onShow: (pass: One) => void }): ReactNode {
  return (
    <button type="button" className="button plain" onClick={() => onShow(pass)}>
      {words.common.line(pass.file, pass.line)}
      <span className="unseen">: {words.prove.showIt(words.prove.between(...pass.bodies))}</span>
    </button>
  );
}

function Tools({ proved }: { proved: ProofOfSetup }): ReactNode {
  const { unit } = useSession();
  const { tool, time, removed, rate, clearance } = words.prove.tool;
  const numbers = [...new Set([...Object.keys(proved.time_by_tool), ...Object.keys(proved.removed_by_tool)])].map(Number);
  const closest = (of: number): number | undefined =>
    proved.clearance.filter((one) => one.tool === of).reduce<number | undefined>((least, one) => Math.min(least ?? Infinity, one.least_mm), undefined);
  return (
    <div className="wide">
      <table className="ruled">
        <Heads names={[tool, time, removed, rate, clearance]} />
        <tbody>
          {numbers.map((of) => {
            const most = proved.load.find((one) => one.tool === of)?.mrr_mm3_min;
            const near = closest(of);
            return (
              <tr key={of}>
                <th scope="row">T{decimals(of, 0)}</th>
                <td>{duration(proved.time_by_tool[of] === undefined ? null : seconds(proved.time_by_tool[of]))}</td>
                <td>{volume(mm3(proved.removed_by_tool[of] ?? 0), unit)}</td>
                <td>{removalRate(most === null || most === undefined ? null : mm3PerMin(most), unit)}</td>
                <td>{near === undefined ? "" : length(mm(near), unit, 2)}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </div>
  );
}

/** The cutting load of each tool that one was worked out for, what it rests on, and the feed that would bring one that is far off back. */
function Load({ proved }: { proved: ProofOfSetup }): ReactNode {
  const { unit } = useSession();
  const { tool, power: most, band, spindle, force: across, thickest, bends } = words.prove.loads;
  const shown = proved.load.filter((one) => one.peak_kw !== null);
  const rests = proved.load_rests_on;
  return (
    <div className="wide">
      <table className="ruled">
        <Heads names={[tool, most, band, spindle, across, thickest, bends]} />
        <tbody>
          {shown.map((one) => (
            <tr key={one.tool}>
              <th scope="row">T{decimals(one.tool, 0)}</th>
              <td>{kw(one.peak_kw)}</td>
              <td>{one.peak_kw_band === null ? "" : words.prove.toRange(decimals(one.peak_kw_band[0], 1), kw(one.peak_kw_band[1]))}</td>
              <td>{kw(one.spindle_kw)}</td>
              <td>{force(one.peak_force_n === null ? null : newtons(one.peak_force_n))}</td>
              <td>{short(one.thickest_chip_mm, unit)}</td>
              <td>{short(one.bends_mm, unit)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {shown.map(
        (one) =>
          one.advice !== null && (
            <p key={one.tool}>{words.prove.advice(one.tool, feed(mmPerMin(one.advice.to_mm_min), unit), feed(mmPerMin(one.advice.feed_mm_min), unit), one.advice.why)}</p>
          ),
      )}
      {rests !== null && rests.material !== null && (
        <p>
          {words.prove.loadOf(rests.material, rests.grade_stated)} {rests.not_looked_at.map(words.prove.loadOpen).join(" ")} {words.prove.loadCaution(rests.caution)}
        </p>
      )}
    </div>
  );
}

const short = (value: number | null, unit: LengthUnit): string => (value === null ? decimals(null, 0) : length(mm(value), unit));
const kw = (value: number | null): string => power(value === null ? null : kilowatts(value));
