// Kit: does it go together? What stands where, every tool as it hangs in the spindle, and what was noticed.

import type { ReactNode } from "react";

import { address, Link } from "../../app/router";
import { useJob } from "../../data/job";
import { useLast } from "../../data/last";
import { usePlace } from "../../data/place";
import { useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { worstFirst } from "../../data/findings";
import { BodiesOutline, ToolOutline } from "../../drawing/Outline";
import { Choice } from "../../parts/Choice";
import { Findings } from "../../parts/Findings";
import { Problems } from "../../parts/Problems";
import { SignOff } from "../../parts/SignOff";
import { length, mm } from "../../units/units";
import type { KitOfSetup } from "../../wire/api.gen";
import { words } from "../../words";
import { Guesses } from "./Guesses";
import { Standing } from "./Standing";

const NEAR_MM = 200;

export default function Kit(): ReactNode {
  const { name, revision, setups } = useJob();
  const { setup, show } = usePlace();
  const { value, error, again } = useDocument("GET /api/jobs/{job}/kit", { at: { job: name }, query: { setup, revision } });
  const document = useLast(`${name}/${setup}`, value?.document);
  const kit = document?.setups[0];
  if (document === undefined || kit === undefined) {
    return error === undefined ? <p>{words.common.loading}</p> : <Problems error={error} onRetry={again} />;
  }
  const worst = worstFirst(document.findings)[0];
  return (
    <>
      <h1>{worst === undefined ? words.kit.fine : words.kit.worst(worst.text)}</h1>
      {setups.length > 1 && (
        <Choice name="setup" label={words.kit.setup} value={setup} choices={setups.map((one) => [one, one] as const)} onChoose={(one) => show({ setup: one })} />
      )}
      {document.findings.length > 0 && <Findings findings={document.findings} />}
      <div className="beside">
        <Stands kit={kit} />
        <section>
          <h2>{words.kit.expected}</h2>
          <Expected kit={kit} />
        </section>
      </div>
      <Tools kit={kit} />
      <Standing kit={kit} />
      <Guesses setup={kit.setup} />
      <SignOff station="kit" />
    </>
  );
}

/** The setup from above and from the front; of the table only what lies near the part. */
function Stands({ kit }: { kit: KitOfSetup }): ReactNode {
  const held = kit.bodies.filter((body) => body.role !== "table");
  const part = { name: "blank", min: kit.blank.min, max: kit.blank.max };
  const table = kit.bodies
    .filter((body) => body.role === "table")
    .map((body) => ({ ...body, min: [part.min[0] - NEAR_MM, part.min[1] - NEAR_MM, body.max[2] - 12], max: [part.max[0] + NEAR_MM, part.max[1] + NEAR_MM, body.max[2]] }));
  const said = words.kit.pictureSaid(held.map((body) => body.name).join(", "));
  return (
    <section>
      <h2>{words.kit.stands}</h2>
      <figure className="drawn">
        <BodiesOutline bodies={held} part={part} axes={[0, 1]} label={words.kit.above} width={560} height={330} zero />
        <figcaption className="faint">{words.kit.above}</figcaption>
        <BodiesOutline bodies={[...table, ...held]} part={part} axes={[0, 2]} label={words.kit.front} width={560} height={260} zero />
        <figcaption className="faint">
          {words.kit.front}. {said}
        </figcaption>
      </figure>
    </section>
  );
}

function Expected({ kit }: { kit: KitOfSetup }): ReactNode {
  const { unit } = useSession();
  return (
    <>
      <p>{words.kit.machine(kit.machine)}</p>
      {!kit.place_known && <p>{words.kit.notPlaced}</p>}
      <table className="ruled">
        <caption className="unseen">{words.kit.expected}</caption>
        <tbody>
          {Object.entries(kit.expected_offsets).map(([offset, at]) => (
            <tr key={offset}>
              <th scope="row">{offset}</th>
              {(["X", "Y", "Z"] as const).map((axis, k) => (
                <td key={axis} className="mono">
                  {axis} {length(mm(at[k] ?? Number.NaN), unit)}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </>
  );
}

function Tools({ kit }: { kit: KitOfSetup }): ReactNode {
  const { unit } = useSession();
  const column = words.kit.column;
  return (
    <div className="wide">
      <table className="ruled tools-of-kit">
        <caption>{words.kit.tools}</caption>
        <thead>
          <tr>
            {[column.tool, column.shape, column.name, column.diameter, column.stickout, column.length, column.registers].map((one) => (
              <th key={one} scope="col">
                {one}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {kit.tools.map((tool) => {
            const shape = kit.scene.tools[String(tool.station)];
            return (
              <tr key={tool.station}>
                <th scope="row">T{tool.station}</th>
                <td>{shape !== undefined && <ToolOutline tool={shape} label={words.kit.shapeOf(tool.name)} width={110} height={150} />}</td>
                <td>
                  <ToolFile station={tool.station} setup={kit.setup} name={tool.name} />
                </td>
                <td>{length(mm(tool.diameter_mm), unit)}</td>
                <td>{length(mm(tool.stickout_mm), unit, 1)}</td>
                <td>{length(mm(tool.length_mm), unit)}</td>
                <td>{words.kit.registers(tool.length_register, tool.radius_register)}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </div>
  );
}

/** The tool's name, as the way to its file where the job has one of its own. */
function ToolFile({ station, setup, name }: { station: number; setup: string; name: string }): ReactNode {
  const { name: job, job: open } = useJob();
  const here = open.document.setup.find((one) => one.name === setup) as unknown as { tool: Array<{ station: number; use: string }> } | undefined;
  const use = here?.tool.find((one) => one.station === station)?.use;
  const file = Object.keys(open.revision.files).find((one) => use !== undefined && one.endsWith(`tools/${use}.toml`));
  if (file === undefined) return name;
  return <Link className="row-link" to={address("/jobs/:job/files", { job }, { path: file })}>{name}</Link>;
}
