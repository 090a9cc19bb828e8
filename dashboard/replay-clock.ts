/** Where a replay stands: a position in the run that advances with real time while it plays. */

export const replaySpeeds = [1, 60, 300, 900, 3600] as const;

/** Immutable; times in ms, `positionMs` counts from the start of the run. */
export interface ReplayClock {
  readonly lengthMs: number;
  /** Where it stood at `sinceMs` of the page's monotonic clock. */
  readonly positionMs: number;
  readonly sinceMs: number;
  readonly playing: boolean;
  readonly speed: number;
}

export function replayOf(lengthMs: number): ReplayClock {
  return { lengthMs, positionMs: 0, sinceMs: 0, playing: false, speed: 900 };
}

/** The position at `nowMs`, never past the end. */
export function positionAt(clock: ReplayClock, nowMs: number): number {
  const ran = clock.playing ? Math.max(0, nowMs - clock.sinceMs) * clock.speed : 0;
  return Math.min(clock.lengthMs, clock.positionMs + ran);
}

/** True once a playing replay has come to the end of the run. */
export function atEnd(clock: ReplayClock, nowMs: number): boolean {
  return positionAt(clock, nowMs) >= clock.lengthMs;
}

export function seek(clock: ReplayClock, positionMs: number, nowMs: number): ReplayClock {
  const inside = Math.min(clock.lengthMs, Math.max(0, positionMs));
  return { ...clock, positionMs: inside, sinceMs: nowMs };
}

/** Playing from the end starts over. */
export function play(clock: ReplayClock, nowMs: number): ReplayClock {
  const from = atEnd(clock, nowMs) ? 0 : positionAt(clock, nowMs);
  return { ...clock, positionMs: from, sinceMs: nowMs, playing: true };
}

export function pause(clock: ReplayClock, nowMs: number): ReplayClock {
  return { ...clock, positionMs: positionAt(clock, nowMs), sinceMs: nowMs, playing: false };
}

/** The same position, from here on at another speed. */
export function atSpeed(clock: ReplayClock, speed: number, nowMs: number): ReplayClock {
  return { ...clock, positionMs: positionAt(clock, nowMs), sinceMs: nowMs, speed };
}
