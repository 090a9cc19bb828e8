/** The words for what was said outside. */

export const deliveryWords = {
  title: 'Said outside lately',
  none: 'Nothing was said outside yet.',
  on: (channel: string) => `on ${channel}`,
  taken: (when: string, times: number) =>
    times > 1 ? `Delivered ${times} times, last ${when}.` : `Delivered ${when}.`,
  testTaken: (when: string) => `Sent ${when}. Nobody has typed its code yet.`,
  arrived: (when: string) => `It arrived: its code was typed ${when}.`,
  repeating: (times: number) =>
    times > 1
      ? `Delivered ${times} times, and said again until somebody acknowledges.`
      : 'Delivered, and said again until somebody acknowledges.',
  untried: 'On its way.',
  failing: (tries: number) =>
    tries === 1 ? 'Not delivered yet; tried once.' : `Not delivered yet; tried ${tries} times.`,
  next: (when: string) => ` Next at ${when}.`,
  withdrawn: 'Not needed any more before it was delivered.',
  givenUp: (tries: number) =>
    tries === 1 ? 'Given up after one try.' : `Given up after ${tries} tries.`,
} as const;
