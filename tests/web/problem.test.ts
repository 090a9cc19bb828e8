/** What a refused body says: the field by path, the value as received, the bound. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import * as z from 'zod/mini';
import { parseJson } from '../../daemon/web/body.ts';
import { ProblemError, problemsOf, shownValue } from '../../daemon/web/problem.ts';
import { armBodySchema, onRunBodySchema } from '../../daemon/wire/command.ts';
import { planRequestSchema } from '../../daemon/wire/plan.ts';
import { planRequest } from './fixture.ts';

function problems(schema: z.ZodMiniType, input: unknown) {
  const result = schema.safeParse(input);
  if (result.success) throw new Error('It was accepted.');
  return problemsOf(result.error, input);
}

describe('the problems of a refused value', () => {
  test('a size that is text names its path, the text and the bound', () => {
    const request = planRequest();
    const [part] = request.piece.parts;
    const parts = [{ ...part, sizes: { diameterMm: '22' } }];
    const input = { ...request, piece: { ...request.piece, parts } };
    expect(problems(planRequestSchema, input)).toEqual([
      {
        field: 'piece.parts[0].sizes.diameterMm',
        value: '"22"',
        bound: 'a finite number',
        message: 'piece.parts[0].sizes.diameterMm is "22"; it must be a finite number.',
      },
    ]);
  });

  test.each([
    ['densityAmpsPerDm2', 0, '0', 'more than 0'],
    ['densityAmpsPerDm2', -1.5, '-1.5', 'more than 0'],
    ['densityAmpsPerDm2', Infinity, 'Infinity', 'a finite number'],
    ['densityAmpsPerDm2', NaN, 'NaN', 'a finite number'],
    ['densityAmpsPerDm2', null, 'null', 'a finite number'],
    ['densityAmpsPerDm2', undefined, 'missing', 'a finite number'],
    ['densityAmpsPerDm2', [1], 'a list of 1', 'a finite number'],
    ['paint', 'gold', '"gold"', 'one of silver, copper, graphite, none'],
    ['piece', 'x', '"x"', 'an object'],
  ])('%s = %s', (field, value, shown, bound) => {
    const found = problems(planRequestSchema, { ...planRequest(), [field]: value });
    expect(found).toEqual([
      { field, value: shown, bound, message: `${field} is ${shown}; it must be ${bound}.` },
    ]);
  });

  test('bounds on counts, lengths and lists are said as such', () => {
    const request = planRequest();
    const [part] = request.piece.parts;
    const wrong = { ...part, count: 0, label: 'x'.repeat(201), platedFraction: 1.01 };
    const found = problems(planRequestSchema, {
      ...request,
      piece: { name: '', parts: [wrong], areaUncertainty: 0.1 },
    });
    expect(found.map(({ field, bound }) => [field, bound])).toEqual([
      ['piece.name', 'at least 1 characters long'],
      ['piece.parts[0].label', 'at most 200 characters long'],
      ['piece.parts[0].count', 'at least 1'],
      ['piece.parts[0].platedFraction', 'at most 1'],
    ]);
    const none = problems(planRequestSchema, {
      ...request,
      piece: { ...request.piece, parts: [] },
    });
    expect(none.map(({ field, value, bound }) => [field, value, bound])).toEqual([
      ['piece.parts', 'a list of 0', 'a list of at least 1'],
    ]);
  });

  test('an unknown field is named', () => {
    const found = problems(onRunBodySchema, { runId: 'run-1', version: 0, force: true });
    expect(found).toEqual([
      {
        field: 'force',
        value: 'true',
        bound: 'no field of that name',
        message: 'There is no field named force.',
      },
    ]);
  });

  test('a target of an unknown kind names the known ones', () => {
    const input = { ...planRequest(), target: { kind: 'weight', grams: 1 } };
    const [found] = problems(planRequestSchema, input);
    expect(found?.field).toBe('target.kind');
    expect(found?.bound).toBe('one of thickness, mass, charge, time, final-size, done-by');
  });

  test('a name that is no identifier is named as the key that it is', () => {
    const request = planRequest();
    const [part] = request.piece.parts;
    const parts = [{ ...part, sizes: { 'a b': 1 } }];
    const [found] = problems(planRequestSchema, { ...request, piece: { ...request.piece, parts } });
    expect(found?.value).toBe('"a b"');
    expect(found?.bound).toContain('text that matches');
  });

  test('a fraction where a whole number belongs is refused', () => {
    const [found] = problems(onRunBodySchema, { runId: 'run-1', version: 1.5 });
    expect(found).toMatchObject({ field: 'version', value: '1.5', bound: 'a whole number' });
  });

  test('the bounds of whole numbers are said', () => {
    const [found] = problems(onRunBodySchema, { runId: 'run-1', version: 1e300 });
    expect(found).toMatchObject({ field: 'version', value: '1e+300' });
    expect(found?.bound).toBe(`at most ${Number.MAX_SAFE_INTEGER}`);
  });

  test('no more than 20 problems are told', () => {
    const many = Object.fromEntries(Array.from({ length: 100 }, (_, index) => [`k${index}`, 1]));
    expect(problems(onRunBodySchema, many)).toHaveLength(20);
  });
});

describe('a value as it is shown', () => {
  test('long text is cut, and characters that hide are written out', () => {
    expect(shownValue('x'.repeat(1000))).toHaveLength(60);
    expect(shownValue('a\u202Eb\u0000')).toBe('"a\\u{202e}b\\u0000"');
  });

  test('it is short and printable whatever was sent', () => {
    fc.assert(
      fc.property(fc.jsonValue(), (value) => {
        const shown = shownValue(value);
        expect(shown.length).toBeLessThanOrEqual(60);
        expect(shown).not.toMatch(/[\p{C}\p{Zl}\p{Zp}]/u);
      }),
      { numRuns: 300 },
    );
  });
});

function bytes(text: string): ArrayBuffer {
  const encoded = new TextEncoder().encode(text);
  return encoded.buffer.slice(0, encoded.byteLength);
}

describe('bodies of any content', () => {
  test('end in a value or in a problem document, never in another error', () => {
    fc.assert(
      fc.property(fc.oneof(fc.json(), fc.string({ unit: 'binary' })), (text) => {
        try {
          const input = parseJson(bytes(text));
          for (const schema of [planRequestSchema, armBodySchema, onRunBodySchema]) {
            const result = schema.safeParse(input);
            if (!result.success) {
              const found = problemsOf(result.error, input);
              expect(found.length).toBeGreaterThan(0);
              expect(found.every(({ message }) => message.length > 0)).toBe(true);
            }
          }
        } catch (error) {
          expect(error).toBeInstanceOf(ProblemError);
        }
      }),
      { numRuns: 500 },
    );
  });

  test('bytes that are not UTF-8 are refused', () => {
    const broken = new Uint8Array([0x22, 0xff, 0x22]).buffer;
    expect(() => parseJson(broken)).toThrow('not JSON in UTF-8');
  });
});
