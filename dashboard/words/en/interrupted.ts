/** What the pages say about runs that were cut short. */

export const interruptedWords = {
  title: (piece: string) => `Cut short: ${piece}`,
  label: 'Runs that wait for your decision',
  tank: (id: string) => `Tank “${id}”`,
  when: (tank: string, day: string, at: string) => `${tank}, last measured ${day} at ${at}.`,
  question: 'Carry it on, or leave it as it is? Nothing is switched on from here.',
  earlier: (count: number) =>
    count === 1
      ? 'It carries on an earlier run; the figures count both.'
      : `It carries on ${count} earlier runs; the figures count them all.`,
  grown: 'Grown',
  grownNote: (range: string, target: string) => `${range}, target ${target}`,
  charge: 'Charge',
  chargeNote: (range: string, target: string) => `${range}, target ${target}`,
  range: (low: string, high: string) => `${low} to ${high}`,
  exact: 'all of it measured',
  now: 'The supply now',
  nowAmps: (amps: string, volts: string) => `${amps}, ${volts}`,
  noReading: 'no reading',
  noTank: 'Not among the tanks any more',
  carryOn: 'Carry on: plan what is left',
  end: 'End it here',
  note: 'A note to keep with it, if you end it',
  ended: (piece: string) =>
    `${piece}: ended here, kept as interrupted. It can still be carried on from the log.`,
  waits: (count: number) =>
    count === 1
      ? 'A run was cut short and waits for your decision.'
      : `${count} runs were cut short and wait for your decision.`,
  decide: 'Look at it',
  idle: 'No run now. One was cut short and waits for your decision.',
} as const;
