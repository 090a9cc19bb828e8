/** What is said of an entry that cannot be read, on every page with a form. */

export const typedWords = {
  /** `what` is the label of the entry. */
  is: (what: string, value: string, bound: string) => `${what} is ${value}; it must be ${bound}.`,
  empty: 'empty',
  number: 'a number',
  name: 'a name',
  numberOrGauge: 'a number, or a gauge such as "18 AWG"',
  percentage: (least: number, most: number) => `a percentage from ${least} to ${most}`,
} as const;
