/**
 * Terms of the trade, each with one sentence for who meets it for the first time, in English. A word is
 * looked for in the sentences where it is explained, whatever its capitals.
 */

interface Term {
  /** As it stands in a sentence. */
  readonly word: string;
  readonly sentence: string;
}

export const termWords = {
  strike: {
    word: 'strike',
    sentence: 'The first minutes, at a low current, until metal covers the whole surface.',
  },
  ramp: {
    word: 'ramp',
    sentence:
      'The current rises evenly to its full strength, so that thin paint and contacts are not burnt.',
  },
  hold: {
    word: 'hold',
    sentence: 'The longest stage: full current, which follows the growing area up to the target.',
  },
  trickle: {
    word: 'trickle',
    sentence:
      'A small current after the target, so that the acid takes no metal off before you come.',
  },
  density: {
    word: 'density',
    sentence:
      'The current for each area of the piece: too much burns the metal, too little only takes longer.',
  },
  ampHours: {
    word: 'A·h',
    sentence:
      'Ampere-hours, current times hours: they decide how much metal has grown, at most 1.19 g of copper each.',
  },
  efficiency: {
    word: 'efficiency',
    sentence:
      'How much of the charge becomes metal; close to 100 % in an acid copper bath that is well.',
  },
  continuity: {
    word: 'continuity check',
    sentence:
      'A low current for some seconds shows whether the way through leads, paint and bath is closed.',
  },
  drill: {
    word: 'limits drill',
    sentence:
      'A limit is put below the current on purpose, to see that the output really goes off.',
  },
  unattended: {
    word: 'unattended',
    sentence:
      'Nobody stays with it: Nightbath switches off by itself, and can only call somebody if alerts get through.',
  },
} as const satisfies Readonly<Record<string, Term>>;
