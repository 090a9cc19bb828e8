/** What the supply answered to OFF, as inputs of the run machine. */

export type OffInput =
  /** `sentAtMs` is when the OFF that was confirmed left: the current stopped from there on. */
  | { readonly kind: 'off-confirmed'; readonly atMs: number; readonly sentAtMs: number }
  /** `amps` is what was found to flow at the last look of this attempt, A; null where there was none. */
  | {
      readonly kind: 'off-unconfirmed';
      readonly atMs: number;
      readonly amps: number | null;
      readonly reason: string;
    };
