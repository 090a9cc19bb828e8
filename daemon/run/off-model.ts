/** What the supply answered to OFF, as inputs of the run machine. */

/** The most that was found to flow by the looks of one attempt, A; null where there was none. */
type FoundAmps = number | null;

export type OffInput =
  | {
      readonly kind: 'off-confirmed';
      readonly atMs: number;
      /** When the OFF that was confirmed left: the current stopped from there on. */
      readonly sentAtMs: number;
      readonly amps: FoundAmps;
    }
  | {
      readonly kind: 'off-unconfirmed';
      readonly atMs: number;
      readonly amps: FoundAmps;
      readonly reason: string;
      /** False where whoever asked for OFF sees to the next attempt and to the alarm, as at the end of the process. */
      readonly again: boolean;
    };
