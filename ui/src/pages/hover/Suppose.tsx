// What if one value were other than it should be: chosen from a list of what can be otherwise, then set right by hand.

import { type ReactNode, useState } from "react";

import { useJob } from "../../data/job";
import { useDocument } from "../../data/resource";
import { Work } from "../../parts/Work";
import type { StudyOfSetup, SupposeAnswer } from "../../wire/api.gen";
import { words } from "../../words";

const said = words.hover;

export function Suppose({ study, setup, unit }: { study: StudyOfSetup | undefined; setup: string; unit: string }): ReactNode {
  const { name } = useJob();
  const [text, setText] = useState("");
  const { value } = useDocument("GET /api/jobs/{job}/hover", { at: { job: name }, query: { station: "suppose" } });
  const found = value?.document.document as SupposeAnswer | null | undefined;
  const suppose = text.trim() === "" ? [] : [text.trim()];
  const tools = [...new Set(study?.hold_points.map((one) => one.tool) ?? [])];
  const offsets = [...new Set(study?.hold_points.map((one) => one.offset) ?? [])];
  const forms = said.forms(tools, offsets, unit);
  return (
    <section>
      <h2>{said.what}</h2>
      <p className="faint">{said.whatHow}</p>
      <label className="pick">
        <span>{said.otherwise}</span>
        <select className="input" value={forms.some(([, form]) => form === text) ? text : ""} onChange={(event) => setText(event.target.value)}>
          <option value="">{said.choose}</option>
          {forms.map(([label, form]) => (
            <option key={form} value={form}>
              {label}
            </option>
          ))}
        </select>
      </label>
      <label className="pick">
        <span>{said.whatLabel}</span>
        <input className="input" autoComplete="off" value={text} onChange={(event) => setText(event.target.value)} />
      </label>
      <Work asked={{ station: "suppose", setup, suppose }} label={said.whatGo} going={said.whating} disabled={suppose.length === 0} />
      {found !== undefined && found !== null && (
        <p className="supposed">
          {said.whatSaid(found.setup, found.suppositions.map((one) => one.words).join("; "))} <strong>{said.outcome[found.consequence.outcome]}</strong>.{" "}
          {found.consequence.text}
        </p>
      )}
    </section>
  );
}
