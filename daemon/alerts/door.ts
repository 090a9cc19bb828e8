/** The door to the alerts: who would be told, for control. */

export { readinessOf } from './readiness.ts';
