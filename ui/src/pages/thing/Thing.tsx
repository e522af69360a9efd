// One thing of the shop: its values in fields, its text, and a drawing that follows what is typed.

import { type ReactNode, useEffect, useState } from "react";

import { Link, useNavigation } from "../../app/router";
import type { PageProps } from "../../app/pages";
import { put, Refused, remove, write } from "../../data/api";
import { useDraft } from "../../data/draft";
import { valuesIn } from "../../data/lines";
import { outdated, useDocument } from "../../data/resource";
import { useSession } from "../../data/session";
import { BodiesOutline, boxed, ToolOutline } from "../../drawing/Outline";
import { Problems } from "../../parts/Problems";
import { AsText, Values } from "../../parts/Values";
import type { Drawn, ThingShown } from "../../wire/api.gen";
import { words } from "../../words";

const said = words.shop;
const QUICK_MS = 120;

export default function Thing({ params }: PageProps): ReactNode {
  const kind = params["kind"] ?? "";
  const name = params["name"] ?? "";
  const { value, error, again } = useDocument("GET /api/shop/{kind}/{name}", { at: { kind, name } });
  const isNew = error instanceof Refused && error.status === 404 && said.start[kind] !== undefined;
  if (value === undefined && !isNew) return error === undefined ? <p>{words.common.loading}</p> : <Problems error={error} onRetry={again} />;
  const thing: ThingShown | undefined = value?.document;
  return <Editor key={`${kind}/${name}`} kind={kind} name={name} text={thing?.text ?? said.start[kind] ?? ""} revision={thing?.thing.number ?? 0} />;
}

function Editor({ kind, name, text: kept, revision }: { kind: string; name: string; text: string; revision: number }): ReactNode {
  const { may } = useSession();
  const { go } = useNavigation();
  const [draft, type, clear] = useDraft(`shop.${kind}.${name}`);
  const text = draft === "" ? kept : draft;
  const [note, setNote] = useState("");
  const [done, setDone] = useState(0);
  const [error, setError] = useState<Error>();
  const { drawn, wrong } = useDrawing(kind, text);
  const may_change = may("lead");
  const top = valuesIn(text).filter((one) => one.section === "");
  const called = top.find((one) => one.key === "name" && one.text !== "")?.text ?? name;
  const unit = top.find((one) => one.key === "units" && one.text !== "")?.text ?? words.common.mm;
  const keep = async (): Promise<void> => {
    setError(undefined);
    try {
      const body = new Blob([text], { type: "text/plain" });
      const { document } = await put("PUT /api/shop/{kind}/{name}", body, { at: { kind, name }, query: { note }, basedOn: revision });
      clear();
      setNote("");
      setDone(document.thing.number);
      outdated("/api/shop");
    } catch (stop) {
      setError(stop instanceof Error ? stop : new Error(String(stop)));
    }
  };
  const take = async (): Promise<void> => {
    try {
      await remove("DELETE /api/shop/{kind}/{name}", { at: { kind, name }, basedOn: revision });
      outdated("/api/shop");
      go("/shop");
    } catch (stop) {
      setError(stop instanceof Error ? stop : new Error(String(stop)));
    }
  };
  return (
    <>
      <p>
        <Link to="/shop" className="row-link">
          {said.back}
        </Link>
      </p>
      <h1>{said.heading1(said.kindOf[kind] ?? kind, called)}</h1>
      <div className="beside">
        <section>
          <h2>{said.values}</h2>
          <p className="faint">{said.bareNumbers(unit)}</p>
          <Values text={text} onType={may_change ? type : undefined} />
          <AsText text={text} onType={may_change ? type : undefined} label={said.asText} />
        </section>
        <section>
          <h2>{said.drawing}</h2>
          <Problems error={wrong} />
          <Picture drawn={drawn} name={called} />
        </section>
      </div>
      {may_change && (
        <div className="row">
          <label className="pick wide-pick">
            <span>{said.note}</span>
            <input className="input" value={note} onChange={(event) => setNote(event.target.value)} />
          </label>
          <button type="button" className="button" disabled={text === kept && revision > 0} onClick={() => void keep()}>
            {said.keep}
          </button>
          {revision > 0 && (
            <button type="button" className="button plain" onClick={() => void take()}>
              {said.takeOut}
            </button>
          )}
        </div>
      )}
      <p role="status">{done > 0 && text === kept ? said.keptAs(done) : ""}</p>
      <Problems error={error} />
    </>
  );
}

/** What the text describes, drawn by the server's numbers; the last good drawing stays while something is wrong. */
function useDrawing(kind: string, text: string): { drawn: Drawn | undefined; wrong: Error | undefined } {
  const [drawn, setDrawn] = useState<Drawn>();
  const [wrong, setWrong] = useState<Error>();
  useEffect(() => {
    const abort = new AbortController();
    const timer = setTimeout(() => {
      write("POST /api/shop/{kind}/drawing", { text }, { at: { kind }, signal: abort.signal }).then(
        ({ document }) => {
          setDrawn(document);
          setWrong(undefined);
        },
        (error: unknown) => {
          if (!abort.signal.aborted && error instanceof Refused) setWrong(error);
        },
      );
    }, QUICK_MS);
    return () => {
      clearTimeout(timer);
      abort.abort();
    };
  }, [kind, text]);
  return { drawn, wrong };
}

function Picture({ drawn, name }: { drawn: Drawn | undefined; name: string }): ReactNode {
  if (drawn === undefined) return null;
  if (drawn.tool !== null) {
    return (
      <figure className="drawn">
        <ToolOutline tool={drawn.tool} label={said.drawn(name)} width={320} height={460} />
        <figcaption className="faint">
          {said.drawn(name)}. {said.lengthOf}
        </figcaption>
      </figure>
    );
  }
  if (drawn.bodies.length === 0) return <p className="faint">{said.notDrawn}</p>;
  const bodies = drawn.bodies.map(boxed);
  return (
    <figure className="drawn">
      <BodiesOutline bodies={bodies} axes={[0, 1]} label={said.drawnAbove} width={480} height={320} />
      <figcaption className="faint">{said.drawnAbove}</figcaption>
      <BodiesOutline bodies={bodies} axes={[1, 2]} label={said.drawnFront} width={480} height={200} />
      <figcaption className="faint">{said.drawnFront}</figcaption>
    </figure>
  );
}

