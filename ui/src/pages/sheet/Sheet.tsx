// The sheet: the paper that goes to the machine, as it will be printed.

import { type ReactNode, useState } from "react";

import { path } from "../../data/api";
import { useJob } from "../../data/job";
import { usePlace } from "../../data/place";
import { useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { Choice } from "../../parts/Choice";
import { Problems } from "../../parts/Problems";
import { Work } from "../../parts/Work";
import type { ResultSaid } from "../../wire/api.gen";
import { words } from "../../words";

type Paper = "A4" | "Letter";

export default function Sheet(): ReactNode {
  const { name, revision, setups } = useJob();
  const { unit } = useSession();
  const { setup, show } = usePlace();
  const [paper, setPaper] = useState<Paper>("A4");
  const { value, error, again } = useDocument("GET /api/jobs/{job}/results", { at: { job: name }, query: { station: "sheet" } });
  if (value === undefined) return error === undefined ? <p>{words.common.loading}</p> : <Problems error={error} onRetry={again} />;
  const file = `sheet-${setup.split(/\s+/).join("-")}`;
  const { results } = value.document;
  const pdf = results.find((one) => one.name === `${file}.pdf`);
  const pages = pdf === undefined ? [] : pagesOf(results, pdf, file);
  return (
    <>
      <h1>{pdf === undefined ? words.sheet.none : words.sheet.heading(pdf.revision)}</h1>
      {pdf !== undefined && pdf.revision !== revision && <p className="changed">{words.sheet.old(pdf.revision, revision)}</p>}
      {setups.length > 1 && (
        <Choice name="setup" label={words.sheet.setup} value={setup} choices={setups.map((one) => [one, one] as const)} onChoose={(one) => show({ setup: one })} />
      )}
      <div className="row sheet-make">
        <Choice name="paper" label={words.sheet.paper} value={paper} choices={[["A4", "A4"], ["Letter", "Letter"]]} onChoose={setPaper} />
        <Work asked={{ station: "sheet", setup, paper, units: unit }} label={words.sheet.make} going={words.sheet.making} strong={pdf?.revision !== revision} />
        {pdf !== undefined && (
          <a className="button plain" href={address(name, pdf)} download={`${name}-${pdf.name}`}>
            {words.sheet.print}
          </a>
        )}
      </div>
      <div className="sheet-pages">
        {pages.map((page) => (
          <a key={page.id} href={pdf === undefined ? "" : address(name, pdf)} target="_blank" rel="noreferrer" className="sheet-page">
            <img src={address(name, page)} alt={`${words.sheet.page(setup)}. ${words.sheet.open}`} />
          </a>
        ))}
      </div>
      {pdf !== undefined && <p className="faint">{words.sheet.signFirst}</p>}
    </>
  );
}

const address = (job: string, one: ResultSaid): string => path("GET /api/jobs/{job}/results/{result}", { at: { job, result: one.id } });

/** The pictures that were made together with a PDF, in their order. */
function pagesOf(results: readonly ResultSaid[], pdf: ResultSaid, file: string): ResultSaid[] {
  return results
    .filter((one) => one.inputs === pdf.inputs && one.id > pdf.id && one.name.startsWith(`${file}-`) && one.name.endsWith(".svg"))
    .sort((a, b) => a.id - b.id)
    .filter((one, index, all) => all.findIndex((other) => other.name === one.name) === index);
}
