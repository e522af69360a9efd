// The metal follows the moment: one surface is asked for at a time, a coarse one first, and the full one once the moment rests. Who
// scrubs sees the metal of the newest moment that the server could give, and never waits for one already left behind.

export const COARSE = 20_000;
const GATHER_MS = 50;
const AGAIN_MS = 2000;

/** A surface that came: how far it may lie from the one it stands for; 0 for the surface itself. */
export interface Came {
  boundMm: number;
}

export interface Source<Surface extends Came> {
  /** About so many triangles of the metal once a motion has run; all of them where no number is given. */
  fetch: (row: number, triangles: number | undefined, signal: AbortSignal) => Promise<Surface>;
  show: (surface: Surface, row: number) => void;
  /** It could not be had. Says whether it is worth asking again in a while. */
  failed: (error: unknown) => boolean;
}

/** Keeps what is shown up with what is wanted. */
export class Follower<Surface extends Came> {
  private wanted: number | undefined;
  private shown: number | undefined;
  private whole = false;
  private going: AbortController | undefined;
  /** What is going on may be given up: it is the full surface of a moment. */
  private full = false;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private over = false;

  constructor(private readonly source: Source<Surface>) {}

  /** Show the metal once this motion has run; -1: before the first. */
  want(row: number): void {
    if (row === this.wanted) return;
    this.wanted = row;
    if (this.full) this.going?.abort();
    if (this.going === undefined || this.full) this.later(GATHER_MS);
  }

  /** Nothing more is wanted. */
  end(): void {
    this.over = true;
    clearTimeout(this.timer);
    this.going?.abort();
  }

  private later(wait: number): void {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.step(), wait);
  }

  private async step(): Promise<void> {
    const row = this.wanted;
    if (this.over || row === undefined || (this.shown === row && this.whole)) return;
    const full = this.shown === row;
    const going = new AbortController();
    this.going = going;
    this.full = full;
    try {
      const surface = await this.source.fetch(row, full ? undefined : COARSE, going.signal);
      if (going.signal.aborted) return;
      this.source.show(surface, row);
      this.shown = row;
      this.whole = full || surface.boundMm === 0;
      this.going = undefined;
      this.later(0);
    } catch (error) {
      if (going.signal.aborted) return;
      this.going = undefined;
      const again = this.source.failed(error);
      if (this.wanted !== row) this.later(0);
      else if (again) this.later(AGAIN_MS);
    } finally {
      if (this.going === going) this.going = undefined;
    }
  }
}
