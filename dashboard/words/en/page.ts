/** What stands in the document before any script has run. No marks of HTML in it. */

export const pageWords = {
  title: 'Nightbath',
  noScript: 'This page needs JavaScript. The bench itself runs without it.',
} as const;
