/** The checks before a start: what each says, which of them refuse, and what sets advice aside. */

import { describe, expect, it } from 'vitest';
import type { Check, CheckFacts, CheckId } from '../../daemon/run/checks/model.ts';
import { isOpen, isUnattendedPhrase, objections } from '../../daemon/run/checks/start.ts';
import { tooCoarseForShort } from '../../daemon/run/watch/short-circuit.ts';
import { checkTable, judgeChecks } from '../../daemon/run/checks/table.ts';

const nowMs = Date.UTC(2026, 10, 26, 21, 0);
const minuteMs = 60_000;
const dayMs = 86_400_000;

/** A real bench with all well and a run armed on it. */
const well: CheckFacts = {
  simulated: false,
  wallMs: nowMs,
  link: { state: 'connected', message: 'MAKER,MODEL,1,2', identityExpected: true },
  standingErrors: [],
  output: 'confirmedOff',
  measuredAmps: 0.001,
  offAmps: 0.01,
  setPoints: { readBack: true, volts: 2.4, amps: 0.32 },
  continuity: { verdict: 'closed', wallMs: nowMs - 5 * minuteMs, sentence: 'Closed.' },
  log: { failure: null, freeMegabytes: 5_000, neededMegabytes: 60 },
  clock: { timeZone: 'UTC', latestRecordWallMs: nowMs - dayMs, steppedMs: 20 },
  alerts: { outsideChannels: 1, confirmed: true, sentence: 'Confirmed today.' },
  drill: { passed: true, wallMs: nowMs - 3 * dayMs, sentence: 'Off after 0.3 s.' },
  protections: {
    overVoltageLevel: true,
    overCurrentLevel: true,
    overVoltageReadsOn: true,
    overCurrentReadsOn: true,
    outputReadback: true,
    setPointReadback: true,
  },
  afterMains: 'off',
};

const silent = { acknowledged: [], attended: false, confirmation: null };

function found(id: CheckId, changes: Partial<CheckFacts>): Check {
  const check = judgeChecks({ ...well, ...changes }).find((one) => one.id === id);
  if (check === undefined) throw new Error(`no check ${id}`);
  return check;
}

const lost = { state: 'lost', message: 'No reply.', identityExpected: true } as const;
/** Each way in which a check is not well: the facts, the words, and whether it then refuses. */
const ways: readonly [CheckId, string, Partial<CheckFacts>, RegExp, 'hard' | 'advice'][] = [
  ['link', 'a lost line', { link: lost }, /No reply/, 'hard'],
  ['link', 'a line that opens', { link: { ...lost, state: 'connecting' } }, /opened/, 'hard'],
  ['errors', 'an old error', { standingErrors: ['-222,"Range"'] }, /1 error.*-222/, 'advice'],
  [
    'errors',
    'many errors',
    { standingErrors: ['1', '2', '3', '4', '5'] },
    /5 errors.*and 2 more/,
    'advice',
  ],
  ['output', 'an output that is on', { output: 'on', measuredAmps: 1.2 }, /1\.200 A/, 'hard'],
  ['output', 'an unknown output', { output: 'unknown' }, /not known/, 'hard'],
  ['output', 'an OFF under way', { output: 'offRequested' }, /not read back yet/, 'hard'],
  [
    'setPoints',
    'set-points that are not read back',
    { setPoints: { readBack: false, volts: 2.4, amps: 0.32 } },
    /2\.40 V and 0\.320 A/,
    'hard',
  ],
  ['continuity', 'a circuit not looked at', { continuity: null }, /not been looked at/, 'advice'],
  [
    'continuity',
    'an old look',
    { continuity: { verdict: 'closed', wallMs: nowMs - 31 * minuteMs, sentence: 'Closed.' } },
    /31 min ago; 30 min count/,
    'advice',
  ],
  [
    'continuity',
    'a fresh open circuit',
    { continuity: { verdict: 'open', wallMs: nowMs - minuteMs, sentence: 'Open: 0 A at 2 V.' } },
    /Open: 0 A at 2 V/,
    'hard',
  ],
  [
    'continuity',
    'a fresh short',
    { continuity: { verdict: 'shorted', wallMs: nowMs, sentence: 'Shorted: 0.06 A at 0 V.' } },
    /Shorted/,
    'hard',
  ],
  [
    'continuity',
    'a short that the meter is too coarse for',
    {
      continuity: {
        verdict: 'shorted',
        wallMs: nowMs,
        sentence: 'Shorted: 0.06 A at 0 V.',
        coarse: true,
      },
    },
    /Shorted.*too coarse/,
    'advice',
  ],
  [
    'log',
    'a disk that does not tell its room',
    { log: { ...well.log, freeMegabytes: null } },
    /does not tell how much room/,
    'advice',
  ],
  [
    'log',
    'a log that fails',
    { log: { ...well.log, failure: 'The disk is full.' } },
    /disk is full/,
    'hard',
  ],
  ['log', 'no room', { log: { ...well.log, freeMegabytes: 12 } }, /Only 12 MB.*60 MB/, 'hard'],
  ['clock', 'a clock never set', { wallMs: 3_600_000 }, /1 January 1970.*never set/, 'advice'],
  [
    'clock',
    'a clock before the log',
    { clock: { ...well.clock, latestRecordWallMs: nowMs + 2 * dayMs } },
    /21:00 on Thursday 26 November 2026.*28 November 2026/,
    'advice',
  ],
  [
    'clock',
    'a clock that was moved',
    { clock: { ...well.clock, steppedMs: -60 * minuteMs } },
    /backwards by 60 min/,
    'advice',
  ],
  ['alerts', 'no alerts', { alerts: null }, /nobody is called/, 'advice'],
  [
    'alerts',
    'an untested channel',
    { alerts: { outsideChannels: 1, confirmed: false, sentence: 'Never confirmed.' } },
    /Never confirmed/,
    'advice',
  ],
  ['drill', 'no drill', { drill: null }, /no limits drill/, 'advice'],
  [
    'drill',
    'an old drill',
    { drill: { passed: true, wallMs: nowMs - 31 * dayMs, sentence: '' } },
    /31 days ago; 30 days/,
    'advice',
  ],
  [
    'drill',
    'a failed drill',
    { drill: { passed: false, wallMs: nowMs, sentence: 'OFF took 4.0 s.' } },
    /OFF took 4\.0 s/,
    'advice',
  ],
  [
    'protections',
    'a supply without an over-current level',
    { protections: { ...well.protections, overCurrentLevel: false } },
    /over-current/,
    'advice',
  ],
  [
    'mains',
    'a power cut that was never tried',
    { afterMains: 'unknown' },
    /not been tried/,
    'advice',
  ],
  ['mains', 'an output that comes back', { afterMains: 'on' }, /comes back on/, 'advice'],
];

describe('the checks', () => {
  it('let a start pass when everything is well', () => {
    expect(judgeChecks(well).filter(isOpen)).toEqual([]);
    expect(objections(judgeChecks(well), silent)).toEqual([]);
  });

  it.each(ways)('%s tells %s', (id, _what, changes, words, weight) => {
    const check = found(id, changes);
    expect(isOpen(check)).toBe(true);
    expect(check.sentence).toMatch(words);
    expect(check.remedy).not.toBe('');
    expect(check.weight).toBe(weight);
  });

  it('has a way in which each of them fails', () => {
    const shown = new Set(ways.map(([id]) => id));
    expect(checkTable.map(({ id }) => id).filter((id) => !shown.has(id))).toEqual([]);
  });

  it('shows all failing ones at once', () => {
    const bad = judgeChecks({ ...well, link: lost, output: 'unknown', drill: null, alerts: null });
    const open = bad.filter(isOpen).map(({ id }) => id);
    expect(open).toEqual(['link', 'output', 'drill', 'alerts']);
  });

  it('says which are skipped on a simulated supply', () => {
    const facts = { ...well, simulated: true, continuity: null, drill: null, alerts: null };
    const skipped = judgeChecks(facts).filter(({ state }) => state === 'notNeeded');
    expect(skipped.map(({ id }) => id)).toEqual([
      'continuity',
      'drill',
      'alerts',
      'protections',
      'mains',
    ]);
    expect(skipped.every(({ sentence }) => sentence.startsWith('Skipped'))).toBe(true);
  });

  it('asks for no set-points before a run is armed, and for no errors where none are kept', () => {
    expect(found('setPoints', { setPoints: null }).state).toBe('notNeeded');
    expect(found('errors', { standingErrors: null }).state).toBe('notNeeded');
  });

  it.each([
    [true, true, /both protections are switched on with them, and that is read back\.$/],
    [true, false, /its over-voltage protection is switched on.*a switch for over-current, have it/],
    [false, true, /its over-current protection is switched on.*a switch for over-voltage, have it/],
    [false, false, /dies: where its panel has a switch for them, have it on\.$/],
  ])('say whose switch holds the limits: read back %s, %s', (volts, amps, words) => {
    const reads = { overVoltageReadsOn: volts, overCurrentReadsOn: amps };
    const check = found('protections', { protections: { ...well.protections, ...reads } });
    expect(isOpen(check)).toBe(false);
    expect(check.sentence).toMatch(words);
  });

  it('call no set-points well that cannot be read back', () => {
    const protections = { ...well.protections, setPointReadback: false };
    const check = found('setPoints', { protections });
    expect(check.state).toBe('notNeeded');
    expect(check.sentence).toMatch(/cannot be asked/);
  });

  it.each([
    [0.06, 0.01, true],
    [0.06, 0.001, false],
    [0.6, 0.01, false],
  ])('take a short at %s A in steps of %s V for certain, or not', (flowing, step, coarse) => {
    expect(tooCoarseForShort(flowing, step)).toBe(coarse);
  });
});

describe('a start', () => {
  const everything = well.protections;
  const advice = judgeChecks({
    ...well,
    drill: null,
    protections: { ...everything, overVoltageLevel: false },
  });

  it('is refused until each advice is acknowledged by its own name', () => {
    const ids = (said: readonly string[]): readonly string[] =>
      objections(advice, { ...silent, acknowledged: said }).map(({ id }) => id);
    expect(ids([])).toEqual(['drill', 'protections']);
    expect(ids(['drill'])).toEqual(['protections']);
    expect(ids(['drill', 'protections'])).toEqual([]);
  });

  it('is refused by a hard check whatever is said', () => {
    const said = {
      acknowledged: checkTable.map(({ id }) => id),
      attended: true,
      confirmation: 'nobody will be called',
    };
    const checks = judgeChecks({ ...well, output: 'on' });
    expect(objections(checks, said).map(({ id }) => id)).toEqual(['output']);
  });

  it('without a tested alert needs somebody there, or the sentence typed', () => {
    const checks = judgeChecks({ ...well, alerts: null });
    const open = (said: object): number => objections(checks, { ...silent, ...said }).length;
    expect(open({})).toBe(1);
    // A tick is not enough: it is too easily made.
    expect(open({ acknowledged: ['alerts'] })).toBe(1);
    expect(open({ confirmation: 'yes' })).toBe(1);
    expect(open({ attended: true })).toBe(0);
    expect(open({ confirmation: '  Nobody will  be called. ' })).toBe(0);
  });

  it.each(['', 'nobody', 'nobody will be called twice', 'somebody will be called'])(
    'does not take %j for the sentence',
    (typed) => {
      expect(isUnattendedPhrase(typed)).toBe(false);
    },
  );
});
