/** The words of the Bench page and of a tank's face, in English. */

export const benchWords = {
  title: 'Bench',
  firstTitle: 'How it works',
  steps: [
    [
      'Describe the piece',
      'Measure its parts. The plan works out area, current, time and thickness.',
    ],
    [
      'Read the plan, arm, start',
      'Arming sets the limits in the supply. Starting is a press of its own.',
    ],
    [
      'Leave it and look in',
      'It stops at the target, cuts out on a fault, and keeps a log to replay.',
    ],
  ],
  putAway: 'Put this away',
  demo: 'Run the demo night',
  demoNote: 'A whole night in about two minutes, on the simulated tank.',
  night: 'Night view',
  planHere: 'Plan a run',
  bath: 'Its bath',
  look: 'Look at the run',
  start: 'Go to start',
  free: 'Free',
  idle: 'No run. Free for a plan.',
  noTanks: 'No tanks yet. Nightbath has not said what is on the bench.',
  of: (target: string) => `of ${target}`,
  left: (time: string) => `${time} left`,
  done: (at: string) => `done about ${at}`,
} as const;
