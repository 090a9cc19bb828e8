/** The last word of a drill: how long it took until OFF was read back. */

import type { ProbeProgress } from './probe-model.ts';

/** `boundMs`: an OFF that takes longer calls a person in any run, so that a drill has failed by then. */
export function withOffTime(
  progress: ProbeProgress | null,
  endedAtMs: number | null,
  atMs: number,
  boundMs: number,
): ProbeProgress | null {
  const finding = progress?.finding ?? null;
  // The first read-back is the word on a drill: an OFF that is pressed later has nothing to add.
  if (progress === null || finding?.verdict !== 'passed' || finding.offMs !== null) return progress;
  if (endedAtMs === null) return progress;
  const offMs = Math.max(0, atMs - endedAtMs);
  const after = offMs < 1000 ? `${Math.round(offMs)} ms` : `${(offMs / 1000).toFixed(1)} s`;
  const bound = (boundMs / 1000).toFixed(1);
  const passed = offMs <= boundMs;
  const sentence = `${finding.sentence} It was read back after ${after}; the bound is ${bound} s.`;
  const verdict = passed ? 'passed' : 'failed';
  return { ...progress, finding: { ...finding, offMs, verdict, sentence } };
}
