/** How fast the bench acts on an armed run, in English. */

export const reactionWords = {
  title: 'How fast this bench acts',
  reads: (count: number, text: string, slowed: boolean) =>
    `The supply is read ${count === 1 ? 'once' : `${text} times`} a second${slowed ? ', as often as it allows' : ''}.`,
  silent: (seconds: string) => `Switched off after ${seconds} s without a valid reading.`,
  hung: (seconds: string) => `If this program hangs: off within about ${seconds} s.`,
  endsWithIt: 'If this program hangs: this simulated supply ends with it.',
  nobody: 'If this program hangs: nothing else switches this supply off.',
  alarm: (seconds: string) =>
    `If OFF is not confirmed for ${seconds} s: alarm, and a call where one is set up.`,
} as const;
