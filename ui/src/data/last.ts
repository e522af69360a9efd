import { useRef } from "react";

/**
 * What was last known under a key: while a newer revision is fetched the page keeps showing it, with whatever is being done there,
 * instead of falling to nothing and back.
 */
export function useLast<Value>(key: string, value: Value | undefined): Value | undefined {
  const held = useRef<{ key: string; value: Value | undefined }>({ key, value });
  held.current = { key, value: value ?? (held.current.key === key ? held.current.value : undefined) };
  return held.current.value;
}
