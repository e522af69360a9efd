// Files: what the job is made of. Any value changed in its place, any file replaced by a newer one; each a revision of the job.

import { type ChangeEvent, type ReactNode, useRef, useState } from "react";

import { address, useNavigation } from "../../app/router";
import { type Clash, path as pathOf, put, Refused, write } from "../../data/api";
import { useDraft } from "../../data/draft";
import { useJob } from "../../data/job";
import { useBytes } from "../../data/resource";
import { useSession } from "../../data/session";
import { Problems } from "../../parts/Problems";
import { useSending } from "../../parts/Statement";
import { AsText, Values } from "../../parts/Values";
import { decimals } from "../../units/units";
import type { Chosen } from "../../wire/api.gen";
import { words } from "../../words";

const FIRST = "job.toml";
const LARGEST_TEXT = 2_000_000;

/** The file's text; undefined where it is none, or too long to be typed in. */
const textOf = (data: ArrayBuffer): { text: string | undefined; size: number } => {
  const size = data.byteLength;
  if (size > LARGEST_TEXT) return { text: undefined, size };
  try {
    const text = new TextDecoder("utf-8", { fatal: true }).decode(data);
    return { text: text.includes("\0") ? undefined : text, size };
  } catch {
    return { text: undefined, size };
  }
};

export default function Files(): ReactNode {
  const { job } = useJob();
  const { may } = useSession();
  const { location, go } = useNavigation();
  const names = Object.keys(job.revision.files);
  const asked = location.query.get("path") ?? "";
  const file = names.includes(asked) ? asked : (names.find((one) => one.endsWith(FIRST)) ?? names[0] ?? "");
  return (
    <>
      <h1>{words.files.heading}</h1>
      <p className="faint">{words.files.how}</p>
      <div className="row files-which">
        <label className="pick">
          <span>{words.files.which}</span>
          <select className="input" value={file} onChange={(event) => go(address(location.path, {}, { path: event.target.value }), { replace: true })}>
            {names.map((one) => (
              <option key={one} value={one}>
                {one}
              </option>
            ))}
          </select>
        </label>
        {may("setter") && <PutIn home={job.revision.home} />}
      </div>
      <OneFile key={file} file={file} />
    </>
  );
}

function OneFile({ file }: { file: string }): ReactNode {
  const { name, revision, job } = useJob();
  const { may } = useSession();
  const kept = useRef<{ digest: string; text: string | undefined; size: number }>(undefined);
  const digest = job.revision.files[file] ?? "";
  const { value, error, again } = useBytes("GET /api/jobs/{job}/file", textOf, { at: { job: name }, query: { path: file, revision }, lasting: true });
  if (value !== undefined) kept.current = { digest, ...value };
  const shown = kept.current;
  if (shown === undefined) return error === undefined ? <p>{words.common.loading}</p> : <Problems error={error} onRetry={again} />;
  const saved = pathOf("GET /api/jobs/{job}/file", { at: { job: name }, query: { path: file, revision } });
  return (
    <>
      {shown.text === undefined ? (
        <p>{words.files.noText(sizeOf(shown.size))}</p>
      ) : (
        <Editor file={file} digest={shown.digest} written={shown.text} may={may("setter")} />
      )}
      <p>
        <a className="row-link" href={saved} download={file.split("/").at(-1)}>
          {words.files.get}
        </a>
      </p>
    </>
  );
}

const sizeOf = (bytes: number): string => (bytes < 1_000_000 ? `${decimals(bytes / 1000, 0)} kB` : `${decimals(bytes / 1_000_000, 1)} MB`);

interface EditorProps {
  file: string;
  digest: string;
  written: string;
  may: boolean;
}

/** What is typed is kept in the browser, with the content and the revision it was typed over: the server puts it together with what
 * others changed since, and asks where both changed the same. */
function Editor({ file, digest, written, may }: EditorProps): ReactNode {
  const { name, revision } = useJob();
  const { busy, run, problems } = useSending(name);
  const [draft, keepDraft, clear] = useDraft(`file.${name}.${file}`);
  const [head, typed] = draft === "" ? ["", ""] : [draft.slice(0, draft.indexOf("\n")), draft.slice(draft.indexOf("\n") + 1)];
  const [over = "", from = revision] = head.split(" ");
  const text = draft === "" ? written : typed;
  const [note, setNote] = useState("");
  const [done, setDone] = useState(0);
  const [clashes, setClashes] = useState<readonly Clash[]>([]);
  const [others, setOthers] = useState<readonly string[]>([]);
  const type = may ? (next: string): void => keepDraft(`${over === "" ? `${digest} ${revision}` : head}\n${next}`) : undefined;
  const keep = (chosen: Chosen[] = []): void =>
    void run(async () => {
      try {
        const body = { files: { [file]: text }, note, chosen };
        const { document, revision: made } = await write("PATCH /api/jobs/{job}", body, { at: { job: name }, basedOn: Number(from) });
        setDone(made);
        setOthers((document.others ?? []).map((one) => `${one.file}${one.what === "" ? "" : `: ${one.what}`}`));
        setNote("");
        setClashes([]);
        clear();
      } catch (stop) {
        if (!(stop instanceof Refused) || stop.clashes.length === 0) throw stop;
        setClashes(stop.clashes);
      }
    });
  const leave = (): void => {
    setClashes([]);
    clear();
  };
  const fields = file.endsWith(".toml");
  return (
    <>
      {fields && (
        <section className="wide-values" aria-label={words.files.values}>
          <Values text={text} onType={type} without={(section) => section.startsWith("guess ")} />
        </section>
      )}
      <AsText text={text} onType={type} label={fields ? words.files.asText : words.files.textOnly} open={!fields} />
      {over !== "" && over !== digest && text !== written && <p className="changed">{words.files.overtaken}</p>}
      {may && text !== written && (
        <div className="row file-keep">
          <label className="pick wide-pick">
            <span>{words.files.note}</span>
            <input className="input" value={note} onChange={(event) => setNote(event.target.value)} />
          </label>
          <button type="button" className="button" disabled={busy} onClick={() => keep()}>
            {words.files.keep}
          </button>
          <button type="button" className="button plain" onClick={leave}>
            {words.files.leave}
          </button>
        </div>
      )}
      {clashes.length > 0 && text !== written && <Clashes key={JSON.stringify(clashes)} clashes={clashes} busy={busy} onSettled={keep} />}
      {problems}
      <p role="status">{done > 0 && text === written ? words.files.keptAs(done) : ""}</p>
      {done > 0 && text === written && others.length > 0 && <p className="changed">{words.files.together(others)}</p>}
    </>
  );
}

/** What two people changed otherwise: both values of each, one of them to be chosen. */
function Clashes({ clashes, busy, onSettled }: { clashes: readonly Clash[]; busy: boolean; onSettled: (chosen: Chosen[]) => void }): ReactNode {
  const [taken, setTaken] = useState<Record<number, "yours" | "theirs">>({});
  const settled = (): void =>
    onSettled(clashes.map(({ file, what, theirs }, index) => ({ file, what, theirs, take: taken[index] ?? "theirs" })));
  return (
    <section aria-labelledby="clashes" role="alert">
      <h2 id="clashes">{words.files.clashes(clashes.length)}</h2>
      <p>{words.files.clashesHow}</p>
      {clashes.map((one, index) => (
        <fieldset key={index} className="clash">
          <legend>
            {one.what === "" ? one.file : one.what} <span className="faint">{words.files.was(one.before ?? words.files.nothing)}</span>
          </legend>
          {(["yours", "theirs"] as const).map((whose) => (
            <label key={whose} className="pick">
              <input type="radio" name={`clash-${index}`} checked={taken[index] === whose} onChange={() => setTaken({ ...taken, [index]: whose })} />
              <span>{words.files.whose[whose]}</span>
              <code>{one[whose] ?? words.files.nothing}</code>
            </label>
          ))}
        </fieldset>
      ))}
      <button type="button" className="button" disabled={busy || Object.keys(taken).length < clashes.length} onClick={settled}>
        {words.files.settle}
      </button>
    </section>
  );
}

/** A file of this computer put into the job's folder, under its own name. */
function PutIn({ home }: { home: string }): ReactNode {
  const { name, revision } = useJob();
  const { busy, run, problems } = useSending(name);
  const input = useRef<HTMLInputElement>(null);
  const chosen = (event: ChangeEvent<HTMLInputElement>): void => {
    const file = event.target.files?.[0];
    event.target.value = "";
    if (file === undefined) return;
    const query = { path: home === "" ? file.name : `${home}/${file.name}`, note: words.files.putNote(file.name) };
    void run(async () => put("PUT /api/jobs/{job}/file", new Blob([await file.arrayBuffer()]), { at: { job: name }, query, basedOn: revision }));
  };
  return (
    <div>
      <button type="button" className="button plain" disabled={busy} onClick={() => input.current?.click()}>
        {words.files.put}
      </button>
      <input ref={input} type="file" hidden aria-label={words.files.put} onChange={chosen} />
      <p className="faint">{words.files.putHow}</p>
      {problems}
    </div>
  );
}
