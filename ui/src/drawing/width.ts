import { type RefObject, useEffect, useRef, useState } from "react";

/** An element and how wide it is on the screen, in CSS pixels; 0 until it is there. */
export function useWidth<Element extends HTMLElement>(): [RefObject<Element | null>, number] {
  const element = useRef<Element>(null);
  const [width, setWidth] = useState(0);
  useEffect(() => {
    const held = element.current;
    if (held === null) return undefined;
    const observer = new ResizeObserver(() => setWidth(held.clientWidth));
    observer.observe(held);
    return () => observer.disconnect();
  }, []);
  return [element, width];
}
