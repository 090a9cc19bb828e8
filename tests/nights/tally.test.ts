/** What a campaign of a size has to have reached is missed where it was not. */

import { describe, expect, it } from 'vitest';

interface Tally {
  nights: number;
  readonly faults: Map<string, number>;
  readonly tripCodes: Map<string, number>;
  readonly alarmCodes: Map<string, number>;
  readonly edges: Map<string, number>;
  readonly acts: Map<string, number>;
}
interface Book {
  readonly campaignOfCi: number;
  readonly fullCampaign: number;
  emptyTally(): Tally;
  coverageGaps(tally: Tally, faultNames: readonly string[]): readonly string[];
}

const book = (await import(new URL('tally.js', import.meta.url).href)) as Book;
const faults = ['short', 'mute'];

/** A tally of so many nights that has seen all there is but these. */
function tallyOf(nights: number, ...without: readonly string[]): Tally {
  const all = { ...book.emptyTally(), nights: book.fullCampaign };
  const tally = { ...book.emptyTally(), nights };
  for (const gap of book.coverageGaps(all, faults)) {
    const [kind, name] = [
      ['the fault ', tally.faults] as const,
      ['a trip for ', tally.tripCodes] as const,
      ['the alarm ', tally.alarmCodes] as const,
      ['the way ', tally.edges] as const,
      ['the act ', tally.acts] as const,
    ].flatMap(([begin, seen]) =>
      gap.startsWith(begin) ? [[seen, gap.slice(begin.length)] as const] : [],
    )[0] ?? [null, ''];
    if (!without.includes(name)) kind?.set(name, 1);
  }
  return tally;
}

describe('a campaign', () => {
  it('that has seen all of it misses nothing, and one that has seen nothing misses all of it', () => {
    expect(book.coverageGaps(tallyOf(book.fullCampaign), faults)).toEqual([]);
    const nothing = { ...book.emptyTally(), nights: book.fullCampaign };
    expect(book.coverageGaps(nothing, faults).length).toBeGreaterThan(50);
  });

  it.each([
    ['mute', 'the fault mute'],
    ['silence', 'a trip for silence'],
    ['offUnconfirmed', 'the alarm offUnconfirmed'],
    ['holding > lifted', 'the way holding > lifted'],
    ['drillPassed', 'the act drillPassed'],
  ])('of a thousand nights misses %s', (name, gap) => {
    expect(book.coverageGaps(tallyOf(book.campaignOfCi, name), faults)).toEqual([gap]);
    expect(book.coverageGaps(tallyOf(book.campaignOfCi - 1, name), faults)).toEqual([]);
  });

  it('misses what is rare from two thousand nights on', () => {
    expect(book.coverageGaps(tallyOf(book.fullCampaign - 1, 'tooLong'), faults)).toEqual([]);
    expect(book.coverageGaps(tallyOf(book.fullCampaign, 'tooLong'), faults)).toEqual([
      'a trip for tooLong',
    ]);
  });
});
