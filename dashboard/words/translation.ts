/** What the words of another language have to be, held against those in English by the type checker. */

/**
 * The same names as in English: a text for a text, for a function one that takes the same parameters,
 * a list of the same length for a list.
 */
export type Translation<English> = English extends string
  ? string
  : English extends (...given: infer Given) => string
    ? (...given: Given) => string
    : { readonly [Name in keyof English]: Translation<English[Name]> };
