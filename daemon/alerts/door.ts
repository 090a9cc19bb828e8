/** The door to the alerts: the desk and the crew for control, and the sending itself for the sentinel. */

export { AlertDesk, newMessageId } from './alert-desk.ts';
export type { TestAnswer } from './alert-desk.ts';
export { DeliveryCrew } from './crew.ts';
export { alarmMessage, runEndMessage } from './wording.ts';
export type { Scene } from './wording.ts';
