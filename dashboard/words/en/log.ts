/** The words of the Log's pages, in English. */

import type { RunResult } from '../../../daemon/wire/log.ts';

const results: Readonly<Record<RunResult, string>> = {
  reached: 'Target reached',
  stopped: 'Stopped',
  tripped: 'Tripped',
  interrupted: 'Interrupted',
  running: 'On now',
  probe: 'Checks and drills',
};

export const logWords = {
  title: 'Log',
  search: {
    label: 'Search the log',
    fields: {
      piece: 'Piece',
      bath: 'Bath',
      result: 'Result',
      from: 'From day',
      to: 'To day',
      page: 'Page',
      pick: 'Chosen to compare',
    },
    pieceHint: 'a word of its name',
    any: 'any',
    clear: 'Show all',
    results,
  },
  leftOut: (field: string, value: string, bound: string) =>
    `${field} was “${value}”; it must be ${bound}. It was left out.`,
  /** What a part of the address must be: the end of the sentence above. */
  bounds: {
    day: 'a day, written 2026-01-31',
    letters: (most: number) => `at most ${most} letters`,
    oneOf: (names: readonly string[]) => `one of ${names.join(', ')}`,
    whole: (least: number, most: number) => `a whole number from ${least} to ${most}`,
    runs: (most: number) => `up to ${most} runs with commas`,
    notBefore: (day: string) => `${day} or later`,
  },
  empty: 'No runs yet. The first one you arm will be here.',
  nothingFound: 'No run matches.',
  pastEnd: (page: number) => `There is no page ${page} of these.`,
  found: (from: number, to: number, total: number) =>
    total === 1 ? 'One run' : `Runs ${from} to ${to} of ${total}`,
  none: 'No runs',
  key: 'Beside each run: its current as a line, the metal grown as an area.',
  of: (target: string, charge: string) => `of ${target}, ${charge}`,
  running: 'on now',
  carriesOn: 'Carries on an earlier run',
  pages: 'Pages of the log',
  newer: 'Newer',
  older: 'Older',
  page: (page: number, pages: number) => `Page ${page} of ${pages}`,
  pick: (piece: string, when: string) => `Compare ${piece}, ${when}`,
  pickShort: 'Compare',
  pickFew: 'Tick two to four runs to compare them.',
  pickOne: 'One chosen; tick another.',
  pickFull: 'Four chosen; that is as many as one picture takes.',
  compare: (count: number) => `Compare ${count} runs`,
  unpick: 'Choose none',
} as const;
