/** The door to the sentinel: its start, for the daemon's entry, and its notes, for control. */

export { exitCodes, startAnew, startSentinel } from './supervisor.ts';
export type { Sentinel, SentinelOptions } from './supervisor.ts';
export { tryStayAwake } from './stay-awake.ts';
export { obeySignals } from './signals.ts';
export { readBootClocks } from './boot-clocks.ts';
export { clearSentinelNotes, readSentinelNotes } from './note.ts';
export type { SentinelNote } from './note.ts';
