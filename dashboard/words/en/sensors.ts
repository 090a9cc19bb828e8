/** The words of a bath's sensors, in English. */

export const sensorWords = {
  title: 'Bath',
  states: { low: 'below its limit', high: 'above its limit' },
  between: (low: string, high: string) => `limits ${low} to ${high}`,
  atLeast: (low: string) => `at least ${low}`,
  atMost: (high: string) => `at most ${high}`,
  range: (low: string, high: string) => `${low} to ${high} so far`,
  csv: 'Bath as CSV',
} as const;
