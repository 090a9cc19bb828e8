/** Terms in sentences: each found once, the sentence itself unchanged. */

import { expect, it } from 'vitest';
import { explainedIn, stageTerms } from '../../dashboard/explained-term.ts';
import { termWords } from '../../dashboard/words/en/terms.ts';
import { shownBy } from './templates.ts';

/** The sentence with what can be opened in brackets. */
function marked(sentence: string): string {
  return shownBy(explainedIn(sentence, stageTerms)).replaceAll(
    /<explained-term [^>]*\.label=([^>]*)><\/explained-term>/g,
    '[$1]',
  );
}

it('opens the first mention of a term, as it is written there', () => {
  expect(marked('Next: Start. Then a strike of 30 min.')).toBe(
    'Next: Start. Then a [strike] of 30 min.',
  );
  expect(marked('Strike at 0.3 A/dm², then ramp up. A strike again.')).toBe(
    '[Strike] at 0.3 A/dm², then [ramp] up. A strike again.',
  );
  expect(marked('Next: the output goes off by itself.')).toBe(
    'Next: the output goes off by itself.',
  );
});

it.each(Object.entries(termWords))('tells %s in one sentence', (_, { sentence }) => {
  expect(sentence).toMatch(/^[A-Z][^.!?]*(?:\d\.\d[^.!?]*)?\.$/);
  expect(sentence.length).toBeLessThan(140);
});
