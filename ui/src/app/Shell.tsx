// What surrounds every page: the way back to the board, the person's settings, word of a server that is away; and the page itself,
// fetched when it is first shown.

import { type ComponentType, type ReactNode, useEffect, useMemo, useRef, useState } from "react";

import { onAway } from "../data/api";
import { useSession } from "../data/session";
import { Fault } from "../parts/Fault";
import { words } from "../words";
import { type PageDescription, offered, type PageProps, pages } from "./pages";
import { JobFrame } from "./JobFrame";
import { Link, match, type Params, useNavigation } from "./router";
import { SettingsMenu } from "./SettingsMenu";

interface Chosen {
  page: PageDescription;
  params: Params;
}

function choose(path: string): Chosen | undefined {
  for (const page of pages) {
    const params = match(page.pattern, path);
    if (params !== undefined) return { page, params };
  }
  return undefined;
}

export function Shell(): ReactNode {
  const { location, go } = useNavigation();
  const { who, known } = useSession();
  const chosen = useMemo(() => choose(location.path), [location.path]);
  const shut = known && who === undefined && chosen?.page.open !== true;
  const gate = pages.find((page) => page.open);
  useEffect(() => {
    if (shut && gate !== undefined) go(`${gate.pattern}?to=${encodeURIComponent(location.path)}`, { replace: true });
  }, [shut, gate, go, location.path]);
  return (
    <>
      <a className="skip" href="#work">
        {words.common.skip}
      </a>
      <Top />
      <AwayNotice />
      {!window.isSecureContext && <p className="away">{words.common.readableByOthers}</p>}
      {known && !shut && (chosen === undefined ? <Nowhere /> : <Shown key={location.path} {...chosen} />)}
    </>
  );
}

function Top(): ReactNode {
  const { who, may } = useSession();
  const links = offered("shop").filter((page) => page.offered?.needs === undefined || may(page.offered.needs));
  return (
    <header className="top">
      <Link to="/" className="top-home">
        <img src="/mark.svg" alt="" width="28" height="28" />
        {words.common.product}
      </Link>
      {who !== undefined && (
        <nav aria-label={words.common.product} className="top-links">
          {links.map((page) => (
            <Link key={page.pattern} to={page.pattern}>
              {page.offered?.label}
            </Link>
          ))}
        </nav>
      )}
      <SettingsMenu />
    </header>
  );
}

/** Said in a place that a screen reader follows; it is there before it is needed. */
function AwayNotice(): ReactNode {
  const [away, setAway] = useState(false);
  const [wasAway, setWasAway] = useState(false);
  useEffect(
    () =>
      onAway((now) => {
        setAway(now);
        if (now) setWasAway(true);
      }),
    [],
  );
  useEffect(() => {
    if (away || !wasAway) return undefined;
    const timer = setTimeout(() => setWasAway(false), 6000);
    return () => clearTimeout(timer);
  }, [away, wasAway]);
  return (
    <div role="status" className={away ? "away" : wasAway ? "away back" : ""}>
      {away ? words.common.away : wasAway ? words.common.back : ""}
    </div>
  );
}

function Nowhere(): ReactNode {
  return (
    <main id="work" tabIndex={-1} className="page">
      <h1>{words.common.nothingThere}</h1>
      <p>
        {words.common.nothingThereNext} <Link to="/">{words.common.toBoard}</Link>
      </p>
    </main>
  );
}

function Shown({ page, params }: Chosen): ReactNode {
  const [Page, setPage] = useState<ComponentType<PageProps>>();
  const [fault, setFault] = useState<Error>();
  const main = useRef<HTMLElement>(null);
  useEffect(() => {
    let gone = false;
    page.load().then(
      (loaded) => {
        if (!gone) setPage(() => loaded.default);
      },
      (error: unknown) => {
        if (!gone) setFault(error instanceof Error ? error : new Error(String(error)));
      },
    );
    return () => {
      gone = true;
    };
  }, [page]);
  useEffect(() => {
    document.title = `${page.title(params)} – ${words.common.product}`;
    // A page that was opened by a link begins at its top, for eyes and for a screen reader; the first one leaves the focus alone.
    if (document.activeElement !== null && document.activeElement !== document.body) main.current?.focus({ preventScroll: true });
    window.scrollTo(0, 0);
  }, [page, params]);
  const job = params["job"];
  const inside = Page === undefined ? <p>{words.common.loading}</p> : <Page params={params} />;
  return (
    <main id="work" tabIndex={-1} ref={main} className="page">
      <Fault given={fault}>
        {job === undefined ? (
          inside
        ) : (
          <JobFrame job={job} page={page}>
            {inside}
          </JobFrame>
        )}
      </Fault>
    </main>
  );
}
