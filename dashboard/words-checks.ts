/** The sentences of the checks before a start that the daemon does not bring. */

const things = (count: number): string => (count === 1 ? '1 check' : `${count} checks`);

export const checkWords = {
  title: 'Checks',
  reading: 'The checks are being read.',
  waits: (count: number) =>
    count === 1 ? '1 check stands in the way.' : `${count} checks stand in the way.`,
  summary: (open: number, well: number) =>
    open === 0
      ? `All ${things(well)} are well.`
      : `${things(open)} ${open === 1 ? 'needs' : 'need'} a look.`,
  wellTitle: (count: number) => `${things(count)} in order`,
  marks: {
    ok: '✓ Well',
    notNeeded: '– Skipped',
    hard: '■ Must be',
    advice: '▲ Advice',
  },
  seen: 'I have seen this, and start all the same.',
  stay: 'Somebody stays with the bench until the end.',
  type: (phrase: string) => `To leave it alone, type: ${phrase}`,
} as const;
