// The text of a program with its findings in the margin. One line is the chosen one; whoever shows it says which.

import { type KeyboardEvent, type ReactNode, useEffect, useId, useLayoutEffect, useRef, useState } from "react";

import type { Finding } from "../data/findings";
import { SignalSign } from "../parts/SignalWord";
import { words } from "../words";
import type { ProgramLines } from "./lines";
import { lineFor, nextMark, ROW_PX, scrollFor, windowAt } from "./window";

interface Props {
  file: string;
  lines: ProgramLines;
  findings: ReadonlyMap<number, readonly Finding[]>;
  line: number;
  onChoose: (line: number) => void;
}

export function ProgramText({ file, lines, findings, line, onChoose }: Props): ReactNode {
  const box = useRef<HTMLDivElement>(null);
  const id = useId();
  const [place, setPlace] = useState({ top: 0, height: 600 });
  const digits = String(lines.count).length;
  useLayoutEffect(() => {
    const element = box.current;
    if (element === null) return undefined;
    const measure = (): void => setPlace({ top: element.scrollTop, height: element.clientHeight });
    measure();
    const observer = new ResizeObserver(measure);
    observer.observe(element);
    return () => observer.disconnect();
  }, []);
  useEffect(() => {
    const element = box.current;
    if (element !== null) element.scrollTop = scrollFor(line, element.scrollTop, element.clientHeight);
  }, [line, file]);
  const { first, last } = windowAt(place.top, place.height, lines.count);
  const keys = (event: KeyboardEvent): void => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const wanted = lineFor(event.key, line, lines.count, place.height);
    if (wanted === undefined) return;
    event.preventDefault();
    onChoose(wanted);
  };
  const shown = Array.from({ length: Math.max(0, last - first + 1) }, (_, index) => first + index);
  return (
    <div className="program">
      <div
        ref={box}
        className="program-lines"
        role="listbox"
        tabIndex={0}
        aria-label={words.program.label(file)}
        aria-describedby={`${id}help`}
        aria-activedescendant={line >= first && line <= last ? `${id}line${line}` : undefined}
        onKeyDown={keys}
        onScroll={(event) => setPlace({ top: event.currentTarget.scrollTop, height: event.currentTarget.clientHeight })}
      >
        <div role="presentation" style={{ height: lines.count * ROW_PX }} className="program-roll">
          {shown.map((one) => (
            <Line
              key={one}
              id={`${id}line${one}`}
              line={one}
              of={lines.count}
              digits={digits}
              text={lines.text(one)}
              findings={findings.get(one)}
              chosen={one === line}
              onChoose={onChoose}
            />
          ))}
        </div>
      </div>
      <p id={`${id}help`} className="unseen">
        {words.program.help}
      </p>
      <div className="program-foot">
        <span className="faint">{words.program.of(line, lines.count)}</span>
        {findings.size > 0 && <MarkButtons marks={findings.keys()} line={line} onChoose={onChoose} />}
      </div>
    </div>
  );
}

function MarkButtons({ marks, line, onChoose }: { marks: Iterable<number>; line: number; onChoose: (line: number) => void }): ReactNode {
  const held = [...marks];
  const go = (step: 1 | -1) => () => {
    const wanted = nextMark(held, line, step);
    if (wanted !== undefined) onChoose(wanted);
  };
  return (
    <>
      <button type="button" className="button plain" onClick={go(-1)}>
        {words.program.previousMark}
      </button>
      <button type="button" className="button plain" onClick={go(1)}>
        {words.program.nextMark}
      </button>
    </>
  );
}

interface LineProps {
  id: string;
  line: number;
  of: number;
  digits: number;
  text: string;
  findings: readonly Finding[] | undefined;
  chosen: boolean;
  onChoose: (line: number) => void;
}

function Line({ id, line, of, digits, text, findings, chosen, onChoose }: LineProps): ReactNode {
  const worst = findings?.[0];
  return (
    <div
      id={id}
      role="option"
      aria-selected={chosen}
      aria-setsize={of}
      aria-posinset={line}
      className={chosen ? "program-line chosen" : "program-line"}
      style={{ top: (line - 1) * ROW_PX }}
      onClick={() => onChoose(line)}
    >
      <span className="program-margin" title={findings?.map((one) => one.text).join("\n")}>
        {worst !== undefined && <SignalSign signal={worst.signal} size={18} />}
        {findings !== undefined && <span className="unseen">{findings.map((one) => `${one.signal}: ${one.text}. `).join("")}</span>}
      </span>
      <span className="program-number" style={{ width: `${digits}ch` }}>
        {line}
      </span>
      <code>{text}</code>
    </div>
  );
}
