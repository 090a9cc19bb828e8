/** The words of what a person may change about a run under way. */

import type { PlainTarget } from './model.ts';

/** A target that can be set while the run is under way; a time is that with the output on, in all. */
export type ChangedTarget = PlainTarget;

/** What can be changed while a run is under way. */
export type RunChange =
  | { readonly kind: 'density'; readonly ampsPerDm2: number }
  | { readonly kind: 'target'; readonly target: ChangedTarget };

/** Inputs of the run machine that come from a person and leave the state where it is. */
export type ChangeInput =
  /** `confirmed` where somebody has seen what it comes to; needed where it raises anything. */
  | {
      readonly kind: 'change';
      readonly atMs: number;
      readonly change: RunChange;
      readonly confirmed: boolean;
      readonly by: string;
    }
  /** Null ends the reminding. */
  | {
      readonly kind: 'turn-every';
      readonly atMs: number;
      readonly everyMinutes: number | null;
      readonly by: string;
    }
  | { readonly kind: 'turned'; readonly atMs: number; readonly by: string };
