/** The words of photos and files on their way to the bench. */

export const photoWords = {
  notPicture: 'This file is no picture that the browser can show.',
  cancelled: 'Cancelled.',
  garbled: (status: number) => `The answer cannot be read (${status}).`,
} as const;
