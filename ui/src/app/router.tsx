// Addresses of the pages: patterns such as /jobs/:job/prove, plain links, the browser's own back and forward.

import { type AnchorHTMLAttributes, createContext, type MouseEvent, type ReactNode, useContext, useEffect, useMemo, useState } from "react";

export interface Location {
  path: string;
  query: URLSearchParams;
}

export type Params = Readonly<Record<string, string>>;

interface Navigation {
  location: Location;
  go: (to: string, how?: { replace?: boolean }) => void;
}

const NavigationContext = createContext<Navigation | undefined>(undefined);

/** The values of a pattern's places in a path; undefined if it does not fit. */
export function match(pattern: string, path: string): Params | undefined {
  const wanted = pattern.split("/").filter(Boolean);
  const given = path.split("/").filter(Boolean);
  if (wanted.length !== given.length) return undefined;
  const found: Record<string, string> = {};
  for (const [index, part] of wanted.entries()) {
    const text = given[index] ?? "";
    if (part.startsWith(":")) {
      try {
        found[part.slice(1)] = decodeURIComponent(text);
      } catch {
        return undefined;
      }
    } else if (part !== text) return undefined;
  }
  return found;
}

/** A pattern with its places filled in and what stands behind the question mark. */
export function address(pattern: string, params: Params = {}, query: Record<string, string | number | undefined> = {}): string {
  const path = pattern.replace(/:(\w+)/g, (_, name: string) => encodeURIComponent(params[name] ?? ""));
  const entries = Object.entries(query).flatMap(([key, value]) => (value === undefined ? [] : [[key, String(value)] as const]));
  const text = new URLSearchParams(entries.map(([key, value]) => [key, value])).toString();
  return text ? `${path}?${text}` : path;
}

function here(): Location {
  return { path: window.location.pathname, query: new URLSearchParams(window.location.search) };
}

export function Router({ children }: { children: ReactNode }): ReactNode {
  const [location, setLocation] = useState<Location>(here);
  useEffect(() => {
    const moved = (): void => setLocation(here());
    window.addEventListener("popstate", moved);
    return () => window.removeEventListener("popstate", moved);
  }, []);
  const navigation = useMemo<Navigation>(
    () => ({
      location,
      go: (to, how) => {
        if (how?.replace) window.history.replaceState(null, "", to);
        else window.history.pushState(null, "", to);
        setLocation(here());
      },
    }),
    [location],
  );
  return <NavigationContext.Provider value={navigation}>{children}</NavigationContext.Provider>;
}

export function useNavigation(): Navigation {
  const found = useContext(NavigationContext);
  if (found === undefined) throw new Error("there is no router around this");
  return found;
}

/** A link to a page; a plain one, so that it can be opened beside this page or copied. */
export function Link({ to, onClick, ...rest }: { to: string } & Omit<AnchorHTMLAttributes<HTMLAnchorElement>, "href">): ReactNode {
  const { go } = useNavigation();
  const follow = (event: MouseEvent<HTMLAnchorElement>): void => {
    onClick?.(event);
    if (event.defaultPrevented || event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
    event.preventDefault();
    go(to);
  };
  return <a {...rest} href={to} onClick={follow} />;
}
