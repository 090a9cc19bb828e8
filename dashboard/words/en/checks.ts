/** The sentences of the checks before a start that the daemon does not bring. */

const things = (count: number): string => (count === 1 ? '1 check' : `${count} checks`);

export const checkWords = {
  title: 'Checks',
  reading: 'The checks are being read.',
  waits: (count: number) =>
    count === 1 ? '1 check stands in the way.' : `${count} checks stand in the way.`,
  summary: (open: number, well: number, skipped: number) =>
    open === 0
      ? `Nothing stands in the way: ${well} well, ${skipped} skipped.`
      : `${things(open)} ${open === 1 ? 'needs' : 'need'} a look.`,
  restTitle: (well: number, skipped: number) => `${well} well, ${skipped} skipped`,
  marks: {
    ok: '✓ Well',
    notNeeded: '– Skipped',
    hard: '■ Needed',
    advice: '▲ Look at this',
  },
  probes: { continuity: 'Run the continuity check', drill: 'Run the limits drill' },
  flows:
    'This switches the output on: a low current flows for some seconds through whatever is on the leads. Look at them first, and keep your hands away.',
  flow: 'Yes, switch it on',
  leave: 'Leave it off',
  beforeArming: 'This is run on the Plan page, before arming: disarm first.',
  notFree: 'Waits until the tank is free.',
  whatItIs: 'A short look at a low current. Its result counts among the checks before a start.',
  toPlan: 'Back to the plan',
  seen: 'I have seen this, and start all the same.',
  stay: 'Somebody stays with the bench until the end.',
  unattended: 'As it is, the run would be unattended.',
  type: (phrase: string) => `To leave it alone, type: ${phrase}`,
} as const;
