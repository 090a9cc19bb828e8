/** Reaches every notice, and holds remedies to what they promise. */

import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import type { DoneByTarget, Notice, NoticeSeverity, Plan, Target } from '../../daemon/run/model.ts';
import { demoPiece } from '../../daemon/run/demo.ts';
import { likelySlips } from '../../daemon/run/notices/slips.ts';
import { fitting, sufficing } from '../../daemon/run/notices/words.ts';
import {
  type Changes,
  flat,
  part,
  pieceOf,
  planned,
  shippedBath,
  stillCopper,
} from './plan-fixtures.ts';

const thickness = (micrometres: number): Target => ({ kind: 'thickness', micrometres });

interface Scene {
  readonly code: string;
  readonly severity: NoticeSeverity;
  readonly changes: Changes;
  /** Words that the notice must hold: the number, the bound, what to do. */
  readonly says: readonly string[];
}

const narrowTube = part(
  'tube',
  { outsideDiameterMm: 2, insideDiameterMm: 0.4, lengthMm: 30 },
  { label: 'Shank' },
);
const boredPiece = pieceOf([flat(0.2), narrowTube]);
const thinWire = pieceOf([part('wire', { wireDiameterMm: 0.3, lengthMm: 900 })]);

/** 150 µm by a time of day, started at 21:00 in Berlin on 25 November 2026. */
const doneBy = (localTime: string): DoneByTarget => ({
  kind: 'done-by',
  goal: { kind: 'thickness', micrometres: 150 },
  localTime,
  timeZone: 'Europe/Berlin',
  nowWallMs: 1_795_636_800_000,
});

/** One scene for each notice there is. */
const scenes: readonly Scene[] = [
  {
    code: 'densityFarAboveWindow',
    severity: 'refuse',
    changes: { request: { densityAmpsPerDm2: 15.5 } },
    says: ['15.5 A/dm2 is 1 A/in2', '0.1 A/in2 would be 1.55 A/dm2', 'still bath', '2 A/dm2'],
  },
  {
    code: 'densityAboveWindow',
    severity: 'warn',
    changes: { request: { densityAmpsPerDm2: 2.5 } },
    says: ['2.5 A/dm2', 'above the 2 A/dm2', 'rough'],
  },
  {
    code: 'densityFarBelowWindow',
    severity: 'refuse',
    changes: { request: { densityAmpsPerDm2: 0.015 } },
    says: ['0.015 A/dm2', '0.5 A/dm2', '0.015 A/cm2', '1.5 A/dm2'],
  },
  {
    code: 'densityBelowWindow',
    severity: 'warn',
    changes: { request: { densityAmpsPerDm2: 0.1 }, tank: { maxHours: 200 } },
    says: ['0.1 A/dm2', '0.5 A/dm2', '0.1 A/in2 would be 1.55 A/dm2'],
  },
  {
    code: 'densityLow',
    severity: 'note',
    changes: { request: { densityAmpsPerDm2: 0.4 } },
    says: ['0.4 A/dm2', 'slow', '1.3 A/dm2'],
  },
  {
    code: 'currentBeyondBound',
    severity: 'refuse',
    changes: { request: { piece: pieceOf([flat(4)]) } },
    says: ['6 A', 'allows 5 A', '4.9 A', '1.22 A/dm2', '6.45'],
  },
  {
    code: 'currentBelowSupply',
    severity: 'refuse',
    changes: { supply: { minAmps: 0.1 } },
    says: ['strike', '78 mA', '0.1 A'],
  },
  {
    code: 'currentCoarse',
    severity: 'warn',
    changes: { request: { piece: pieceOf([flat(0.1)]) }, supply: { stepAmps: 0.01 } },
    says: ['15 steps', '20 steps of 10 mA', '0.15 A'],
  },
  {
    code: 'bathLoading',
    severity: 'warn',
    changes: { tank: { volumeLitres: 0.6 } },
    says: ['0.45 A in 0.6 L', '0.75 A/L', '0.5 A/L'],
  },
  {
    code: 'anodeDensityHigh',
    severity: 'warn',
    changes: { tank: { anodeAreaDm2: 0.15 } },
    says: ['3 A/dm2', '2.5 A/dm2', '0.18 dm2'],
  },
  {
    code: 'anodeSmallerThanPiece',
    severity: 'warn',
    changes: { tank: { anodeAreaDm2: 0.25 } },
    says: ['0.25 dm2', '0.3 dm2'],
  },
  {
    code: 'anodeDensityLow',
    severity: 'note',
    changes: {},
    says: ['0.225 A/dm2', '0.3 A/dm2'],
  },
  {
    code: 'voltageBeyondCap',
    severity: 'warn',
    changes: { tank: { maxVolts: 0.5 } },
    says: ['0.26 to 0.77 V', 'cap here is 0.4 V', 'may not be reached', 'anodes closer'],
  },
  {
    code: 'supplyWithoutLevels',
    severity: 'note',
    changes: { supply: { overVoltageLevel: false } },
    says: ['no over-voltage level', 'front panel', 'timer'],
  },
  {
    code: 'tooLong',
    severity: 'refuse',
    changes: { tank: { maxHours: 5 } },
    says: ['The run takes 8.22 h', '5 h', 'it reaches', 'no density inside'],
  },
  {
    code: 'timeTight',
    severity: 'warn',
    changes: { tank: { maxHours: 8.3 } },
    says: ['8.22 h', '8.3 h', 'small delay'],
  },
  {
    code: 'boreCloses',
    severity: 'refuse',
    changes: { request: { piece: boredPiece, target: thickness(250) } },
    says: ['"Shank"', 'closes at 200 µm', '250 µm', 'below 200 µm'],
  },
  {
    code: 'boreMayClose',
    severity: 'warn',
    changes: { request: { piece: boredPiece, target: thickness(190) } },
    says: ['"Shank"', '200 µm', '210 µm'],
  },
  {
    code: 'thinTarget',
    severity: 'warn',
    changes: { request: { target: thickness(0.2) } },
    says: ['0.2 µm', 'at least 20 µm', '0.2 mm was meant, that is 200 µm'],
  },
  {
    code: 'endsBeforeHold',
    severity: 'warn',
    changes: { request: { paint: 'graphite', densityAmpsPerDm2: 3, target: thickness(22) } },
    says: ['before strike and ramp (3 h)'],
  },
  {
    code: 'outgrowsPiece',
    severity: 'warn',
    changes: { request: { piece: thinWire, target: thickness(450) } },
    says: ['450 µm', '4 times', 'less than 3 times'],
  },
  {
    code: 'graphitePaint',
    severity: 'note',
    changes: { request: { paint: 'graphite' } },
    says: ['creeps from the contacts', '2 h', 'contact points'],
  },
  {
    code: 'bareMetal',
    severity: 'note',
    changes: { request: { paint: 'none' } },
    says: ['bare, clean metal', 'zinc', 'undercoat'],
  },
  {
    code: 'trickle',
    severity: 'note',
    changes: { request: { trickle: { densityAmpsPerDm2: 0.05, maxHours: 8 } } },
    says: ['15 mA', '8 h', '5.2 µm'],
  },
  {
    code: 'trickleStrong',
    severity: 'warn',
    changes: { request: { trickle: { densityAmpsPerDm2: 0.5, maxHours: 8 } } },
    says: ['0.5 A/dm2', '52 µm more', '0.26 A/dm2 or less'],
  },
  {
    code: 'trickleTooStrong',
    severity: 'refuse',
    changes: { request: { trickle: { densityAmpsPerDm2: 1.3, maxHours: 1 } } },
    says: ['1.3 A/dm2 is no trickle', '0.26 A/dm2 or less'],
  },
  {
    code: 'trickleTooLong',
    severity: 'refuse',
    changes: { request: { trickle: { densityAmpsPerDm2: 0.05, maxHours: 25 } } },
    says: ['25 h', 'at most 24 h'],
  },
  {
    code: 'trickleBelowSupply',
    severity: 'refuse',
    changes: {
      request: { trickle: { densityAmpsPerDm2: 0.02, maxHours: 8 } },
      supply: { stepAmps: 0.01 },
    },
    says: ['6 mA', '10 mA', '0.0333 A/dm2'],
  },
  {
    code: 'doubt',
    severity: 'note',
    changes: { request: { piece: pieceOf([flat(0.3)], 0.2) } },
    says: ['likely between 120 µm and 190 µm', 'area of the piece', '20 %', 'Measure'],
  },
  {
    code: 'closingAccepted',
    severity: 'warn',
    changes: {
      request: { piece: boredPiece, target: thickness(250), acceptClosures: ['shank'] },
    },
    says: ['"Shank"', '200 µm', '250 µm', 'accepted', 'caught inside'],
  },
  {
    code: 'moreHangerThanPiece',
    severity: 'warn',
    changes: {
      request: {
        piece: pieceOf([
          part('ball', { diameterMm: 6 }),
          part('hanger', { wireDiameterMm: 1, submergedLengthMm: 90 }),
        ]),
      },
    },
    // pi 1 90 = 282.7 mm2 of hanger beside pi 6^2 = 113.1 mm2 of ball.
    says: ['71 %', 'at most 50 %', 'More hanger than piece', 'Lacquer'],
  },
  {
    code: 'hangerWarm',
    severity: 'warn',
    changes: {
      request: {
        piece: pieceOf([flat(2), part('hanger', { wireDiameterMm: 0.3, submergedLengthMm: 40 })]),
      },
    },
    says: ['0.3 mm', 'A in air', 'K', 'Use wire of', 'Steel'],
  },
  {
    code: 'recessShaded',
    severity: 'warn',
    changes: {
      request: {
        piece: pieceOf([part('tube', { outsideDiameterMm: 7, insideDiameterMm: 5, lengthMm: 40 })]),
      },
    },
    // Worked by hand: sqrt(15 x 0.005 x 0.0514 / (4 x 150)) m is 2.5 mm.
    says: ['20 mm to the middle', '2.5 mm', '5.6', '9.2', 'ASTM B507'],
  },
  {
    code: 'evenness',
    severity: 'note',
    changes: {
      request: { piece: pieceOf([part('box', { lengthMm: 20, widthMm: 10, heightMm: 5 })]) },
    },
    says: ['2 to 3 times the thinnest', '90 degrees', '50 µm', 'Turn it', 'thief', '70 mm'],
  },
  {
    code: 'contactReach',
    severity: 'warn',
    changes: {
      request: { paint: 'graphite', contact: { points: 1, farthestMm: 60 } },
    },
    says: ['60 mm', '24 mm', 'graphite', '100 ohm per square', 'About 3 contact points', 'strike'],
  },
  {
    code: 'trickleBeyondBound',
    severity: 'refuse',
    // 4 dm2 at 1.2 A/dm2 is 4.8 A.
    changes: {
      request: {
        piece: pieceOf([flat(4)]),
        densityAmpsPerDm2: 0.5,
        trickle: { densityAmpsPerDm2: 1.2, maxHours: 1 },
      },
      tank: { maxAmps: 3 },
    },
    says: ['4.8 A', '3 A', '2.94 A', '0.73 A/dm2'],
  },
  {
    code: 'boreInShade',
    severity: 'note',
    // 0.4 mm less is 200 µm a side; over 0.9 that is 222 µm, and 0.7 of 200 leaves 17 - 0.28 mm.
    changes: {
      request: {
        piece: pieceOf([
          part('loop', { insideDiameterMm: 17, wireDiameterMm: 2 }, { label: 'Shank' }),
        ]),
        target: { kind: 'final-size', partIndex: 0, dimension: 'insideDiameterMm', mm: 16.6 },
      },
    },
    says: ['200 µm', '222 µm', '16.6 mm', '16.72 mm', '0.7 to 1'],
  },
  {
    code: 'trickleChangesSize',
    severity: 'note',
    // 0.1 A/dm2 for 10 h is 1 A h/dm2: about 13 µm of copper on each side.
    changes: {
      request: {
        piece: pieceOf([
          part('loop', { insideDiameterMm: 17, wireDiameterMm: 2 }, { label: 'Shank' }),
        ]),
        target: { kind: 'final-size', partIndex: 0, dimension: 'insideDiameterMm', mm: 16.6 },
        trickle: { densityAmpsPerDm2: 0.1, maxHours: 10 },
      },
    },
    says: ['16.6 mm', 'trickle', '16.57 mm'],
  },
  {
    code: 'typedDensityLeftOut',
    severity: 'note',
    changes: { request: { target: doneBy('07:00'), densityTyped: '0.1 A/in2' } },
    says: ['0.1 A/in2', 'no say', 'the time of day decides'],
  },
  {
    code: 'doneByBelowWindow',
    severity: 'refuse',
    // 2 A less a fiftieth, on 10 dm2.
    changes: {
      request: { piece: pieceOf([flat(10)]), target: doneBy('2026-11-28 07:00') },
      tank: { maxAmps: 2, maxHours: 1000 },
    },
    says: ['0.196 A/dm2', '0.5 A/dm2', 'fewer pieces'],
  },
  {
    code: 'voltageHigh',
    severity: 'warn',
    changes: {
      request: { piece: pieceOf([flat(3)]) },
      tank: { anodeAreaDm2: 0.5, volumeLitres: 20 },
    },
    says: ['1.5 V', 'copper anodes', 'Hang more anode'],
  },
  {
    code: 'materialPoisons',
    severity: 'refuse',
    changes: { request: { piece: { ...pieceOf([flat(0.3)]), materials: [{ id: 'foul-stone' }] } } },
    says: [
      'Foul stone',
      'gives off a foul gas',
      'Keep it out',
      'licensed practice',
      'ventilation',
      'foul-stone',
    ],
  },
  {
    code: 'poisonAccepted',
    severity: 'warn',
    changes: {
      request: {
        piece: { ...pieceOf([flat(0.3)]), materials: [{ id: 'foul-stone' }] },
        acceptMaterials: ['foul-stone'],
      },
    },
    says: ['Foul stone', 'gives off a foul gas', 'accepted', 'licensed practice', 'ventilation'],
  },
  {
    code: 'materialUnknown',
    severity: 'warn',
    changes: {
      request: { piece: { ...pieceOf([flat(0.3)]), materials: [{ id: 'hard-stones' }] } },
    },
    says: ['hard-stones', 'knows nothing of it', 'Hard stone'],
  },
  {
    code: 'materialKeepOut',
    severity: 'warn',
    changes: {
      request: { piece: { ...pieceOf([flat(0.3)]), materials: [{ id: 'fizzing-stone' }] } },
    },
    says: ['Fizzing stone', 'dissolves', 'Keep it out'],
  },
  {
    code: 'materialCaution',
    severity: 'note',
    changes: {
      request: { piece: { ...pieceOf([flat(0.3)]), materials: [{ id: 'oiled-stone' }] } },
    },
    says: ['Oiled stone', 'leaches', 'Heat', 'Seal it whole'],
  },
  {
    code: 'lengthSlip',
    severity: 'warn',
    // A ball of half an inch, typed in inches; 0.5 x 25.4 is 12.7 mm.
    changes: { request: { piece: pieceOf([flat(0.2), part('ball', { diameterMm: 0.5 })]) } },
    says: ['0.5 mm', '12.7 mm', 'inches', 'looks odd', 'piece.parts[1].sizes.diameterMm'],
  },
  {
    code: 'ownStartBold',
    severity: 'warn',
    changes: {
      request: {
        paint: 'graphite',
        contact: { points: 1, farthestMm: 60 },
        start: { strikeShare: 0.25, strikeMinutes: 20, rampMinutes: 20 },
      },
    },
    says: ['0.325 A/dm2 for 20 min', '60 mm', 'asks for 0.053', 'burns dark'],
  },
  {
    code: 'doneBy',
    severity: 'note',
    changes: { request: { target: doneBy('07:00') } },
    says: ['07:00 on Thursday 26 November', 'A/dm2', '21:00 on Wednesday 25 November'],
  },
  {
    code: 'doneByTooEarly',
    severity: 'refuse',
    changes: { request: { target: doneBy('23:00') } },
    says: ['by 23:00 on Wednesday', '2 A/dm2', 'The earliest is'],
  },
  {
    code: 'clocksChange',
    severity: 'note',
    changes: {
      // Clocks in Germany go from 02:00 to 03:00 on 28 March 2027 (Directive 2000/84/EC).
      request: { target: { ...doneBy('2027-03-28 02:30'), nowWallMs: 1_806_177_600_000 } },
    },
    says: ['set forward', '03:00 on Sunday 28 March'],
  },
];

function noticesOf(plan: Plan, code: string): readonly Notice[] {
  return plan.notices.filter((notice) => notice.code === code);
}

function wordsOf(notice: Notice | undefined): string {
  return notice === undefined ? '' : Object.values(notice).join(' | ');
}

describe('each notice is reached', () => {
  test.each(scenes)('$severity $code', ({ code, severity, changes, says }) => {
    const plan = planned(changes);
    const found = noticesOf(plan, code);
    expect(found).toHaveLength(1);
    expect(found[0]?.severity).toBe(severity);
    expect(plan.startable).toBe(!plan.notices.some((notice) => notice.severity === 'refuse'));
    for (const words of says) {
      expect(wordsOf(found[0])).toContain(words);
    }
    for (const words of [found[0]?.field, found[0]?.value, found[0]?.bound, found[0]?.remedy]) {
      expect(words).not.toBe('');
    }
  });

  test('and none is left out of these tests', () => {
    const folder = new URL('../../daemon/run/notices/', import.meta.url);
    const written = readdirSync(folder).flatMap((file) => {
      const text = readFileSync(new URL(file, folder), 'utf8');
      return [...text.matchAll(/notice\(\s*[^,]+?,\s*'(\w+)'/g)].map((match) => match[1]);
    });
    expect(written.length).toBeGreaterThan(20);
    expect(new Set(written)).toEqual(new Set(scenes.map(({ code }) => code)));
  });

  test('a plain plan says hardly anything', () => {
    const codes = planned().notices.map(({ code }) => code);
    expect(codes).toEqual(['anodeDensityLow', 'evenness', 'doubt']);
  });

  test('a refused density is not followed by all that it leads to', () => {
    const { notices } = planned({ request: { densityAmpsPerDm2: 15.5 }, tank: { maxHours: 0.1 } });
    expect(notices.map(({ code }) => code)).toEqual(['densityFarAboveWindow', 'doubt']);
  });
});

const densityCodes = (densityAmpsPerDm2: number, bath = stillCopper) =>
  planned({ bath, request: { densityAmpsPerDm2 }, tank: { maxHours: 1000 } })
    .notices.filter(({ code }) => code.startsWith('density'))
    .map(({ code }) => code);

describe('the window of the bath', () => {
  test('says nothing inside, edges and rounding included', () => {
    for (const density of [0.5, 0.5 - 1e-12, 1, 1.55, 2, 2 + 1e-12]) {
      expect(densityCodes(density)).toEqual([]);
    }
  });

  test('warns up to half as much again and refuses beyond', () => {
    expect(densityCodes(2.01)).toEqual(['densityAboveWindow']);
    expect(densityCodes(3)).toEqual(['densityAboveWindow']);
    expect(densityCodes(3.01)).toEqual(['densityFarAboveWindow']);
  });

  test('notes, warns and refuses below it', () => {
    expect(densityCodes(0.49)).toEqual(['densityLow']);
    expect(densityCodes(0.2)).toEqual(['densityLow']);
    expect(densityCodes(0.19)).toEqual(['densityBelowWindow']);
    expect(densityCodes(0.05)).toEqual(['densityBelowWindow']);
    expect(densityCodes(0.049)).toEqual(['densityFarBelowWindow']);
  });

  test('is that of the bath chosen', () => {
    expect(densityCodes(3.5, shippedBath('acid-copper-agitated'))).toEqual([]);
    expect(densityCodes(0.4, shippedBath('watts-nickel'))).not.toEqual([]);
  });

  test('does not speak of anode film where the anodes are not copper', () => {
    const { notices } = planned({
      bath: shippedBath('watts-nickel'),
      request: { densityAmpsPerDm2: 3 },
    });
    expect(notices.filter(({ code }) => code.startsWith('anode'))).toEqual([]);
  });
});

describe('a slip is named by its factor', () => {
  // Exact from 1 in = 25.4 mm: 1 A/in2 = 15.500031 A/dm2, 1 A/dm2 = 9.290304 A/ft2, 1 in2 = 6.4516 cm2.
  test.each([
    [1.5 * 10, '15 mA/cm2, or a decimal point one place off, would be 1.5 A/dm2'],
    [1.5 * 9.290304, '13.9 A/ft2 would be 1.5 A/dm2'],
    [1.5 * 15.500031, 'if A/in2 was converted twice, 0.0968 A/in2 is 1.5 A/dm2'],
    [1.5 * 100, '150 A/m2, or cm2 taken for dm2, would be 1.5 A/dm2'],
    [1.5 * 6.4516, 'if an area in square inches was read as cm2, the density is 1.5 A/dm2'],
    [1.5 * 2, 'if the current was divided by one side only, both sides make it 1.5 A/dm2'],
    [15.500031, '15.5 A/dm2 is 1 A/in2; 0.1 A/in2 would be 1.55 A/dm2'],
    [0.15500031, '0.155 A/dm2 is 0.01 A/in2; 0.1 A/in2 would be 1.55 A/dm2'],
    [0.1, '0.1 A/in2 would be 1.55 A/dm2'],
    [0.15, 'a decimal point one place off would be 1.5 A/dm2'],
    [1.5 / 2, 'if both sides were counted where one takes metal, the density is 1.5 A/dm2'],
    [0.015, '0.015 A/cm2, or dm2 taken for cm2, would be 1.5 A/dm2'],
    [1.5 / 9.290304, 'if A/ft2 was converted twice, 13.9 A/ft2 is 1.5 A/dm2'],
    [1.5 / 6.4516, 'if an area in cm2 was read as square inches, the density is 1.5 A/dm2'],
  ])('%f A/dm2', (entered, meaning) => {
    const slips = likelySlips(entered, stillCopper);
    expect(slips).toContain(meaning);
    expect(slips.length).toBeLessThanOrEqual(2);
  });

  test('and none is named where none leads back into the window', () => {
    expect(likelySlips(0.001, stillCopper)).toEqual([]);
    expect(likelySlips(1000, stillCopper)).toEqual([]);
  });

  test('the one nearest to what is usual comes first', () => {
    expect(likelySlips(14, stillCopper)[0]).toContain('mA/cm2');
    expect(likelySlips(11, stillCopper)[0]).toContain('A/ft2');
  });
});

function numberBefore(words: string, text: string): number {
  const match = new RegExp(String.raw`([\d.]+) ${words}`).exec(text);
  return Number(match?.[1]);
}

const has = (changes: Changes, code: string) => noticesOf(planned(changes), code).length > 0;

describe('what a remedy promises, holds', () => {
  test('the largest density that fits does fit, and a little more does not', () => {
    for (const areaDm2 of [3.5, 4, 7.77]) {
      const piece = pieceOf([flat(areaDm2)]);
      const remedy = noticesOf(planned({ request: { piece } }), 'currentBeyondBound')[0]?.remedy;
      const fits = Number(/fits is ([\d.]+) A/.exec(remedy ?? '')?.[1]);
      const at = (densityAmpsPerDm2: number) => ({ request: { piece, densityAmpsPerDm2 } });
      expect(has(at(fits), 'currentBeyondBound')).toBe(false);
      expect(has(at(fits * 1.02), 'currentBeyondBound')).toBe(true);
    }
  });

  test('on a growing wire too', () => {
    const piece = pieceOf([part('wire', { wireDiameterMm: 0.8, lengthMm: 9_900 })]);
    const tank = { maxHours: 200 };
    const remedy = noticesOf(planned({ request: { piece }, tank }), 'currentBeyondBound')[0]
      ?.remedy;
    const densityAmpsPerDm2 = Number(/fits is ([\d.]+) A/.exec(remedy ?? '')?.[1]);
    expect(densityAmpsPerDm2).toBeGreaterThan(1);
    expect(has({ request: { piece, densityAmpsPerDm2 }, tank }, 'currentBeyondBound')).toBe(false);
  });

  test('the thickness and the density that fit into the time do fit', () => {
    const tank = { maxHours: 7.5 };
    const remedy = noticesOf(planned({ tank }), 'tooLong')[0]?.remedy ?? '';
    const micrometres = numberBefore('µm', remedy);
    const densityAmpsPerDm2 = numberBefore('A/dm2', remedy);
    expect(micrometres).toBeGreaterThan(100);
    expect(densityAmpsPerDm2).toBeGreaterThan(1.5);
    expect(has({ tank, request: { target: thickness(micrometres) } }, 'tooLong')).toBe(false);
    expect(has({ tank, request: { densityAmpsPerDm2 } }, 'tooLong')).toBe(false);
    const slower = { densityAmpsPerDm2: densityAmpsPerDm2 * 0.99 };
    expect(has({ tank, request: slower }, 'tooLong')).toBe(true);
  });

  test('a run by the clock is told the longest time', () => {
    const target: Target = { kind: 'time', hours: 20 };
    const plan = planned({ tank: { maxHours: 14 }, request: { target } });
    expect(noticesOf(plan, 'tooLong')[0]?.remedy).toContain('The longest that fits is 14 h');
  });

  test('the trickle counts into the time', () => {
    const trickle = { densityAmpsPerDm2: 0.05, maxHours: 6 };
    const plan = planned({ tank: { maxHours: 14 }, request: { trickle } });
    expect(wordsOf(noticesOf(plan, 'tooLong')[0])).toContain('The run and its trickle take 14.2 h');
    const whole = { ...trickle, maxHours: 14 };
    const full = planned({ tank: { maxHours: 14 }, request: { trickle: whole } });
    expect(noticesOf(full, 'tooLong')[0]?.remedy).toContain('The trickle alone fills the time');
  });

  test('the trickle that a supply can hold is one it can hold', () => {
    const supply = { stepAmps: 0.01 };
    const trickle = { densityAmpsPerDm2: 0.02, maxHours: 8 };
    const remedy = noticesOf(planned({ supply, request: { trickle } }), 'trickleBelowSupply')[0];
    const densityAmpsPerDm2 = numberBefore('A/dm2', remedy?.remedy ?? '') * 1.01;
    const raised = { supply, request: { trickle: { ...trickle, densityAmpsPerDm2 } } };
    expect(has(raised, 'trickleBelowSupply')).toBe(false);
  });

  test('a bore that the trickle would close is refused as well', () => {
    const request = { piece: boredPiece, target: thickness(160) };
    expect(has({ request }, 'boreCloses')).toBe(false);
    const trickle = { densityAmpsPerDm2: 0.2, maxHours: 20 };
    expect(has({ request: { ...request, trickle } }, 'boreCloses')).toBe(true);
  });

  test('a bore is found closed for a target in grams, ampere hours or hours', () => {
    const targets: readonly Target[] = [
      { kind: 'mass', grams: 6 },
      { kind: 'charge', ampHours: 5 },
      { kind: 'time', hours: 20 },
    ];
    for (const target of targets) {
      expect(has({ request: { piece: boredPiece, target } }, 'boreCloses')).toBe(true);
    }
  });
});

describe('a voltage beyond the cap', () => {
  test('refuses where even the low end cannot be reached', () => {
    const plan = planned({ tank: { maxVolts: 0.2 } });
    expect(noticesOf(plan, 'voltageBeyondCap')[0]?.severity).toBe('refuse');
    expect(plan.startable).toBe(false);
  });
});

test('the doubt names what dominates it', () => {
  const ball = pieceOf([part('ball', { diameterMm: 20 })], 0);
  const meter = planned({ request: { piece: ball }, supply: { meterUncertainty: 0.08 } });
  expect(wordsOf(noticesOf(meter, 'doubt')[0])).toContain("the supply's ammeter");
  const efficiency = { value: 0.9, uncertainty: 0.09, source: 'invented for the test' };
  const unsure = planned({ request: { piece: ball }, bath: { ...stillCopper, efficiency } });
  expect(wordsOf(noticesOf(unsure, 'doubt')[0])).toContain("the bath's efficiency");
  expect(wordsOf(noticesOf(unsure, 'doubt')[0])).toContain('Weigh');
  const leaf = part('measured', { areaMm2: 2_000 }, { label: 'Leaf' });
  const leafy = planned({ request: { piece: pieceOf([...ball.parts, leaf], 0) } });
  expect(wordsOf(noticesOf(leafy, 'doubt')[0])).toContain(
    'the area of the piece, "Leaf" above all',
  );
});

test('numbers are rounded to the side that keeps the promise', () => {
  expect(fitting(1.239)).toBe(1.2);
  expect(fitting(0.01999, 3)).toBe(0.0199);
  expect(fitting(200)).toBe(200);
  expect(fitting(0)).toBe(0);
  expect(sufficing(1.201)).toBe(1.3);
  expect(sufficing(1741, 3)).toBe(1750);
  // 0.29 * 100 is 28.999999999999996, and 9.99999999998 is 10 a rounding error out.
  expect(fitting(0.29)).toBe(0.29);
  expect(fitting(9.999_999_999_98, 3)).toBe(10);
  expect(sufficing(11.000_000_000_02, 3)).toBe(11);
  expect(fitting(9.999_999, 3)).toBe(9.99);
  expect(sufficing(11.000_001, 3)).toBe(11.1);
});

describe('lengths of a plan', () => {
  const asked = (piece: ReturnType<typeof pieceOf>) =>
    planned({ request: { piece } }).notices.filter(({ code }) => code === 'lengthSlip');

  test('one slip out of two is enough to ask', () => {
    const wire = part('wire', { wireDiameterMm: 0.8, lengthMm: 2.4 });
    const ring = part('loop', { wireDiameterMm: 0.8, insideDiameterMm: 0.67 });
    expect(asked(pieceOf([flat(0.2), wire])).map(({ value }) => value)).toEqual(['2.4 mm']);
    expect(asked(pieceOf([flat(0.2), ring])).map(({ value }) => value)).toEqual(['0.67 mm']);
  });

  test('of the piece shown first raise no question', () => {
    expect(asked({ ...demoPiece, parts: [...demoPiece.parts] })).toEqual([]);
  });
});
