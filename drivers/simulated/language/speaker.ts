/** What every command language of the simulated supply offers to the instrument around it. */

export interface Speaker {
  /** Takes bytes from the line. */
  receive(bytes: string, nowMs: number): void;
  /** Does what a pause on the line brings about, up to `nowMs`. */
  settle(nowMs: number): void;
  /** Forgets what it knew, as a restart does. */
  restart(): void;
}
