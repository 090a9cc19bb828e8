/** What an entry of the Plan page must be: each ends a sentence of `typedWords.is`. */

export const planBounds = {
  minutes: (least: number, most: number) => `a number from ${least} to ${most}`,
  whole: 'a whole number from 1',
  timeTwice: 'a time, and so is the one to be done by',
  notTime: 'thickness, mass, charge or a final size',
  timeOfDay: 'a time of day such as 07:00',
  size: 'a length above 0, such as 17.2 or 17.2 mm',
  wire: 'a size such as 1.2 mm or 18 AWG',
  inside: 'a length above 0, such as 17.2',
  sizeMissing: 'missing',
  sizeGone: 'of a part that is gone',
  oneOfSizes: 'one of the sizes below',
  pieceWithSizes: 'of a piece that has sizes',
} as const;
