/** Openings that are accepted to shut: all of them are named, and no name accepts two parts. */

import { describe, expect, test } from 'vitest';
import type { PartDescription } from '../../daemon/piece/model.ts';
import { planRun } from '../../daemon/run/plan.ts';
import { beaker, flat, part, pieceOf, stillCopper, twigRequest } from './plan-fixtures.ts';

const roomy = { ...beaker, maxHours: 1000 };

function result(parts: readonly PartDescription[], micrometres: number, names: readonly string[]) {
  return planRun(
    {
      ...twigRequest,
      piece: pieceOf([flat(0.3), ...parts]),
      target: { kind: 'thickness', micrometres },
      acceptClosures: names,
    },
    stillCopper,
    roomy,
  );
}

function said(parts: readonly PartDescription[], micrometres: number, names: readonly string[]) {
  const asked = result(parts, micrometres, names);
  if (!asked.ok) throw new Error(asked.problems.map(({ message }) => message).join('\n'));
  return asked.plan.notices.filter(({ code }) => /^(bore|closing)/.test(code));
}

// A bore of 1 mm shuts at 500 µm; turns of 0.8 mm wire at a pitch of 1 mm fuse at about 100 µm.
const coil = part(
  'coil',
  { insideDiameterMm: 1, wireDiameterMm: 0.8, pitchMm: 1, turns: 10 },
  { label: 'Spring' },
);

describe('an accepted part', () => {
  test('has every opening named that shuts', () => {
    const found = said([coil], 600, ['Spring']);
    expect(found.map(({ code }) => code)).toEqual(['closingAccepted', 'closingAccepted']);
    expect(found[0]?.message).toMatch(/^Gap between turns of "Spring" fuses at/);
    expect(found[1]?.message).toMatch(/^Inside diameter of "Spring" closes at 500 µm/);
  });

  test('is warned about where its next opening may shut', () => {
    const found = said([coil], 460, ['Spring']);
    expect(found.map(({ code }) => code)).toEqual(['closingAccepted', 'boreMayClose']);
    expect(found[1]?.message).toContain('Inside diameter');
  });

  test('was refused with all that its name accepts', () => {
    const [refused] = said([coil], 600, []);
    expect(refused?.message).toContain('Inside diameter closes too, at 500 µm');
    expect(refused?.remedy).toContain('accept it by its name: Spring');
  });

  test('of an open shank shuts at its inside diameter too, and no size is below 0', () => {
    const shank = part(
      'shank',
      { insideDiameterMm: 3, wireDiameterMm: 1, gapMm: 0.3 },
      { label: 'Shank' },
    );
    const found = said([shank], 1700, ['Shank']);
    expect(found.map(({ bound }) => bound)).toEqual(['below 150 µm', 'below 1500 µm']);
  });
});

describe('two parts of one label', () => {
  const other = { ...coil, sizes: { ...coil.sizes, insideDiameterMm: 2 } };

  test('cannot both be accepted by it', () => {
    const asked = result([coil, other], 300, ['Spring']);
    expect(asked).toMatchObject({ ok: false, problems: [{ field: 'acceptClosures[0]' }] });
    expect(asked.ok ? '' : asked.problems[0]?.bound).toBe('one of part 2, part 3');
  });

  test('are accepted by their numbers, as the refusal says', () => {
    const remedies = said([coil, other], 300, ['part 2']).map(({ code, field, remedy }) => ({
      code,
      field,
      remedy,
    }));
    expect(remedies).toMatchObject([
      { code: 'boreCloses', field: 'piece.parts[2]' },
      { code: 'closingAccepted', field: 'piece.parts[1]' },
    ]);
    expect(remedies[0]?.remedy).toContain('by its name: part 3');
    expect(said([coil, other], 300, ['part 2', 'part 3']).map(({ code }) => code)).toEqual([
      'closingAccepted',
      'closingAccepted',
    ]);
  });

  test('may stand beside a part that wears another number as its label', () => {
    const odd = { ...coil, label: 'part 3' };
    const found = said([odd, { ...other, label: 'Tail' }], 300, ['part 3']);
    expect(found.map(({ code, field }) => `${code} ${field}`)).toEqual([
      'boreCloses piece.parts[2]',
      'closingAccepted piece.parts[1]',
    ]);
  });
});
