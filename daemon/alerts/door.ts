/** The door to the alerts: the desk and the crew for control, and the sending itself for the sentinel. */

export { AlertDesk } from './alert-desk.ts';
export type { TestAnswer } from './alert-desk.ts';
export { DeliveryCrew } from './crew.ts';
export { newMessageId } from './message-id.ts';
export { outletOf } from './outlets.ts';
export { reachOf } from './reach.ts';
export { testHoldsMs } from './readiness.ts';
export { SentinelVoice } from './voice.ts';
export { alarmMessage, runEndMessage, turnMessage } from './wording.ts';
export type { Scene } from './wording.ts';
