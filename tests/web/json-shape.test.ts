/** JSON that is looked at before it is parsed: what is counted, and what is not. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { crowdedJson, maxDepth, maxValues } from '../../daemon/web/json-shape.ts';
import { webUnderTest } from './fixture.ts';

function judged(text: string): string | null {
  return crowdedJson(new TextEncoder().encode(text).buffer);
}

describe('JSON before it is parsed', () => {
  test.each([
    ['brackets and commas in a string', JSON.stringify({ a: '[{,'.repeat(maxValues) }), null],
    ['quotes that are escaped', JSON.stringify({ a: '\\"[,'.repeat(1000), b: '\\\\' }), null],
    ['as many values as are allowed', `[${'0,'.repeat(maxValues - 2)}0]`, null],
    ['one value too many', `[${'0,'.repeat(maxValues - 1)}0]`, 'more than'],
    ['many empty lists', `[${'[],'.repeat(maxValues)}[]]`, 'more than'],
    ['depth at its bound', '['.repeat(maxDepth) + ']'.repeat(maxDepth), null],
    ['depth beyond it', '['.repeat(maxDepth + 1) + ']'.repeat(maxDepth + 1), 'deeper than'],
    ['a string that never closes', '{"a": "[[[[[[[', null],
    ['nothing', '', null],
  ])('%s', (_name, text, words) => {
    const found = judged(text);
    if (words === null) expect(found).toBeNull();
    else expect(found).toContain(words);
  });

  test('never refuses a document of ordinary size, whatever stands in it', () => {
    fc.assert(
      fc.property(fc.json({ maxDepth: 8 }), (text) => {
        expect(judged(text)).toBeNull();
      }),
    );
  });

  test('is refused at the import of a piece before it costs time and room', async () => {
    const web = await webUnderTest();
    const body = `{"a":[${'[],'.repeat(2_000_000)}[]]}`;
    const reply = await web.ask('POST', '/api/pieces/import', { body });
    expect(reply.status).toBe(400);
    expect(JSON.stringify(await reply.json())).toContain(`more than ${maxValues} values`);
  });
});
