/** How numbers, times and lists are written: the locale of the language, and what stands between figures. */

export const figureWords = {
  /** For the browser's own rules on decimal signs, dates and lists: a BCP 47 tag. */
  locale: 'en-GB',
  seconds: (seconds: number) => `${seconds} s`,
  minutes: (minutes: number) => `${minutes} min`,
  /** `minutes` with two digits. */
  hours: (hours: number, minutes: string) => `${hours} h ${minutes} min`,
  /** Both ends as they are to be read, the second with the unit. */
  range: (low: string, high: string) => `${low} to ${high}`,
} as const;
