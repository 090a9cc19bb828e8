/** What the Setup page reads from typed texts: places of supplies, limits, a meter, and changes of the file. */

import { afterEach, describe, expect, it, onTestFinished, vi } from 'vitest';
import {
  FoundSupply,
  factorOf,
  limitFrom,
  linkEntry,
  linkFrom,
} from '../../dashboard/setup/found.ts';
import { FormsByName, listedWith, SettingsForm, toldAt } from '../../dashboard/setup/form.ts';
import type { Field } from '../../dashboard/setup/form.ts';
import { SetupDesk } from '../../dashboard/setup/desk.ts';
import { headerValue } from '../../dashboard/setup/channel-headers.ts';
import { lineChanges, lineFields, lineKind } from '../../dashboard/setup/line-fields.ts';
import { inPercent } from '../../dashboard/setup/percent.ts';
import { finerFields } from '../../dashboard/setup/tank-fields.ts';
import { unitsExample } from '../../dashboard/setup/units-part.ts';
import { newSensor, sensorChanges } from '../../dashboard/setup/sensors-block.ts';
import { densityRange, densityText } from '../../dashboard/units.ts';
import { words } from '../../dashboard/words/en/common.ts';
import { setupWords } from '../../dashboard/words/en/setup.ts';
import { ProblemError } from '../../daemon/web/problem.ts';
import { bathToml, BenchFolder, benchToml } from '../settings/bench-folder.ts';

afterEach(() => vi.unstubAllGlobals());

describe('the place of a supply', () => {
  it.each([
    [
      '/dev/serial/by-id/usb-x-if00',
      '',
      { kind: 'serial', path: '/dev/serial/by-id/usb-x-if00', baudRate: null },
    ],
    ['COM3', '9600', { kind: 'serial', path: 'COM3', baudRate: 9600 }],
    [' tcp://192.0.2.10:5025 ', '', { kind: 'tcp', host: '192.0.2.10', port: 5025 }],
    ['tcp://[fd00::2]:5025', '', { kind: 'tcp', host: 'fd00::2', port: 5025 }],
  ])('%s at %j is read', (place, baud, link) => {
    expect(linkFrom(place, baud)).toEqual(link);
  });

  it.each([
    ['ttyUSB0', ''],
    ['tcp://192.0.2.10', ''],
    ['tcp://192.0.2.10:70000', ''],
    ['/dev/ttyUSB0', '12'],
    ['/dev/ttyUSB0', 'fast'],
    ['', ''],
  ])('%j at %j is none', (place, baud) => {
    expect(linkFrom(place, baud)).toBeNull();
  });

  it('leaves a rate to the dialect where none was typed', () => {
    const link = linkFrom('/dev/ttyUSB0', '');
    expect(link === null ? null : linkEntry(link)).toEqual({
      kind: 'serial',
      path: '/dev/ttyUSB0',
    });
  });
});

describe('limits and the ammeter', () => {
  it('are above 0 and within what the supply gives', () => {
    expect([limitFrom('2,5', 5), limitFrom('5', 5)]).toEqual([2.5, 5]);
    expect([limitFrom('0', 5), limitFrom('5.1', 5), limitFrom('', 5)]).toEqual([NaN, NaN, NaN]);
  });

  it('a second correction is made upon the first', () => {
    expect(factorOf(1.03, 1, 1)).toBeCloseTo(1.03, 12);
    // Shown 1.03 A by a factor of 1.03: the supply itself shows 1.00 A, the meter 1.02 A.
    expect(factorOf(1.02, 1.03, 1.03)).toBeCloseTo(1.02, 12);
  });

  it('one step after the other is reached, and another place begins anew', () => {
    const found = new FoundSupply();
    expect(found.done).toBe(0);
    found.place = '/dev/ttyUSB0';
    expect(found.done).toBe(1);
    const fit = {
      fits: true as const,
      dialect: 'd',
      identity: 'x',
      expectIdentity: 'x',
      maxVolts: 100,
      maxAmps: 5,
      lacks: '',
      outputOn: false,
      standingErrors: [],
    };
    found.tried = [{ fits: false, dialect: 'e', why: 'no' }, fit];
    expect(found.done).toBe(2);
    // Nothing is set on an output that is on.
    found.tried = [{ ...fit, outputOn: true }];
    expect(found.done).toBe(1);
    found.tried = [fit];
    [found.amps, found.volts] = ['2', '61'];
    // 60 V is the end of what is driven, whatever the supply gives.
    expect(found.done).toBe(2);
    found.volts = '5';
    expect(found.done).toBe(3);
    found.steps = [
      { id: 'set-points', state: 'ok', found: '' },
      { id: 'output', state: 'failed', found: '' },
    ];
    expect(found.done).toBe(3);
    found.steps = [{ id: 'set-points', state: 'ok', found: '' }];
    expect(found.done).toBe(4);
    found.moved();
    expect(found.done).toBe(1);
  });
});

describe('a form over the file', () => {
  const fields: readonly Field[] = [
    { path: ['name'], label: 'Name' },
    { path: ['maxAmps'], label: 'Amps', kind: 'number' },
    { path: ['pollHz'], label: 'Looks', kind: 'number' },
    { path: ['to'], label: 'To', kind: 'list' },
    { path: ['password'], label: 'Password', kind: 'secret' },
    { path: ['rectifier', 'meterUncertainty'], label: 'Doubt', kind: 'number' },
  ];

  function form() {
    const desk = new SetupDesk(() => undefined);
    const data = {
      tanks: [
        { name: 'One', maxAmps: 3, pollHz: 4, to: ['a', 'b'], password: { set: true, in: 'file' } },
      ],
    };
    desk.file = { data } as unknown as SetupDesk['file'];
    return new SettingsForm(desk, ['tanks', 0], () => undefined);
  }

  it('changes what was typed anew and nothing else', () => {
    const one = form();
    expect(one.changes(fields)).toEqual([]);
    one.set(['name'], 'One');
    one.set(['maxAmps'], '2,5');
    one.set(['pollHz'], '');
    one.set(['to'], 'a, c');
    one.set(['password'], '');
    one.set(['rectifier', 'meterUncertainty'], '0.02');
    const at = (...path: (string | number)[]) => ['tanks', 0, ...path];
    expect(one.changes(fields)).toEqual([
      { kind: 'set', path: at('maxAmps'), value: 2.5 },
      { kind: 'remove', path: at('pollHz') },
      { kind: 'set', path: at('to'), value: ['a', 'c'] },
      { kind: 'set', path: at('rectifier', 'meterUncertainty'), value: 0.02 },
    ]);
    one.set(['password'], 'new one');
    expect(one.changes(fields).at(-2)).toEqual({
      kind: 'set',
      path: at('password'),
      value: { secret: 'new one' },
    });
  });

  it('leaves what is no number to the daemon, which names the bound', () => {
    const one = form();
    one.set(['maxAmps'], 'three');
    expect(one.changes(fields)).toEqual([
      { kind: 'set', path: ['tanks', 0, 'maxAmps'], value: 'three' },
    ]);
  });
});

describe('what is typed for an entry of a list', () => {
  const path: Field = { path: ['rectifier', 'link', 'path'], label: 'Device' };
  const tank = (id: string) => ({ id, rectifier: { link: { path: `/dev/${id}` } } });

  function listed(...ids: string[]) {
    const desk = new SetupDesk(() => undefined);
    const forms = new FormsByName();
    const holds = (...now: string[]): void => {
      desk.file = { data: { tanks: now.map(tank) } } as unknown as SetupDesk['file'];
    };
    holds(...ids);
    const at = (index: number): SettingsForm =>
      forms.of(desk.text(['tanks', index, 'id']), desk, ['tanks', index], () => undefined);
    return { forms, holds, at };
  }

  it('does not pass to the next one when it is taken out', () => {
    const { at, holds, forms } = listed('left', 'right');
    at(0).set(path.path, '/dev/typed');
    holds('right');
    expect(at(0).value(path)).toBe('/dev/right');
    expect(at(0).changes([path])).toEqual([]);
    // Nor to a new one that is called the same.
    forms.forget('left');
    holds('right', 'left');
    expect(at(1).value(path)).toBe('/dev/left');
  });

  it('goes along with it when one before it is taken out', () => {
    const { at, holds } = listed('left', 'right');
    at(1).set(path.path, '/dev/typed');
    holds('right');
    expect(at(0).changes([path])).toEqual([
      { kind: 'set', path: ['tanks', 0, 'rectifier', 'link', 'path'], value: '/dev/typed' },
    ]);
  });
});

describe('densities', () => {
  it('are shown in the unit of the settings', () => {
    // 1 ft = 3.048 dm and 1 in = 0.254 dm (ISO 80000-3: 1 in = 25.4 mm).
    expect(densityText(1.5)).toBe('1.50 A/dm²');
    expect(densityText(1.5, 'A/ft2')).toBe('13.9 A/ft²');
    expect(densityText(1.5, 'A/in2')).toBe('0.097 A/in²');
    expect(densityRange(0.5, 2, 'A/ft2')).toBe('4.65 to 18.5 A/ft²');
  });
});

function formOn(table: object): SettingsForm {
  const desk = new SetupDesk(() => undefined);
  desk.file = { data: { at: table } } as SetupDesk['file'];
  return new SettingsForm(desk, ['at'], () => undefined);
}

describe('a share', () => {
  const doubt = finerFields.find(({ path }) => path.at(-1) === 'meterUncertainty');
  const efficiency: Field = { path: ['efficiency', 'value'], label: 'Efficiency', ...inPercent };

  it('is shown and typed in percent, and kept as a share', () => {
    if (doubt === undefined) throw new Error('a tank asks for the doubt of its ammeter');
    const form = formOn({ rectifier: { meterUncertainty: 0.07 }, efficiency: { value: 0.985 } });
    expect([form.value(doubt), form.value(efficiency)]).toEqual(['7', '98.5']);
    expect(form.changes([doubt, efficiency])).toEqual([]);
    form.set(doubt.path, '0,5 %');
    form.set(efficiency.path, '97.3');
    expect(form.changes([doubt, efficiency])).toEqual([
      { kind: 'set', path: ['at', 'rectifier', 'meterUncertainty'], value: 0.005 },
      { kind: 'set', path: ['at', 'efficiency', 'value'], value: 0.973 },
    ]);
  });

  it('of an ammeter that is refused is told in percent, its bounds too', () => {
    if (doubt === undefined) throw new Error('a tank asks for the doubt of its ammeter');
    const folder = new BenchFolder();
    onTestFinished(() => folder.remove());
    const wrong = (share: string) => {
      const toml = benchToml.replace('meterUncertainty = 0.01', `meterUncertainty = ${share}`);
      return folder.refusals(toml).map((problem) => toldAt(doubt, problem));
    };
    const bound = 'it must be a number from 0 to 20 %.';
    expect(wrong('0.29')).toEqual([`Doubt of the ammeter is 29; ${bound}`]);
    expect(wrong('"some"')).toEqual([`Doubt of the ammeter is "some"; ${bound}`]);
  });

  it('of a bath that is refused is told in percent, its bounds too', () => {
    const folder = new BenchFolder();
    onTestFinished(() => folder.remove());
    const told = (share: string, doubtOfIt: string) => {
      const figures = `efficiency = { value = ${share}, uncertainty = ${doubtOfIt}`;
      const was = 'efficiency = { value = 0.98, uncertainty = 0.02';
      expect(bathToml).toContain(was);
      folder.write('baths/trial-copper.toml', bathToml.replace(was, figures));
      return folder.refusals(benchToml).map((one) => toldAt({ ...efficiency, label: 'It' }, one));
    };
    expect(told('0.005', '0')).toEqual([
      'It is 0.5; it must be 1 to 100 %. Check the figure and its unit.',
    ]);
    expect(told('0.29', '0.3')).toEqual(['It is 30; it must be below efficiency.value, 29 %.']);
    const labels = new Map([['efficiency.value', 'Efficiency']]);
    const [below] = folder.refusals(benchToml);
    if (below === undefined) throw new Error('a bath of such a doubt was taken');
    expect(toldAt({ ...efficiency, label: 'Give or take' }, below, labels)).toBe(
      'Give or take is 30; it must be below “Efficiency”, 29 %.',
    );
    expect(told('9.85', '0')).toEqual(['It is 985; it must be at most 100 %.']);
    expect(told('-0.5', '0')).toEqual(['It is -50; it must be above 0 %.']);
    expect(told('"most"', '0')).toEqual(['It is "most"; it must be a number.']);
  });

  it('leaves figures in other units as they are', () => {
    const problem = {
      field: 'maxAmps',
      value: '900',
      bound: 'a number from 0.001 to 500 A',
      message: 'maxAmps is 900; it must be a number from 0.001 to 500 A.',
    };
    const told = toldAt({ label: 'Most current', unit: 'A' }, problem);
    expect(told).toMatch(/^Most current is 900; it must be a number from 0\.001 to 500\sA\.$/);
  });
});

describe('the parts of Setup', () => {
  it('share no name with a page, since both stand on the screen', () => {
    const { label: _label, skip: _skip, ...pages } = words.nav;
    const names = Object.values<string>(setupWords.parts);
    expect(names.filter((name) => Object.values<string>(pages).includes(name))).toEqual([]);
    expect(new Set(names).size).toBe(names.length);
  });
});

describe('the example of the units', () => {
  // 0.8 mm lies nearest 20 AWG (0.812 mm, ASTM B258) and 21 SWG (0.032 in = 0.813 mm, from memory).
  it('is whole where the settings say nothing of units, as where they name the first of each', () => {
    const gauges = '20 AWG, 0.01 mm thinner; 21 SWG, 0.01 mm thinner';
    const whole = `1.50 A/dm², 12.7 mm, a wire of 0.80 mm is ${gauges}`;
    expect(unitsExample(formOn({}))).toBe(whole);
    expect(unitsExample(formOn({ density: 'A/dm2', length: 'mm', wire: 'mm' }))).toBe(whole);
  });

  it('goes by what is chosen', () => {
    const form = formOn({ length: 'in' });
    form.set(['wire'], 'awg');
    expect(unitsExample(form)).toBe(
      '1.50 A/dm², 0.500 in, a wire of 0.80 mm is 20 AWG, 0.01 mm thinner',
    );
  });
});

describe('a line', () => {
  const serial = { link: { kind: 'serial', path: '/dev/ttyUSB0', baudRate: 9600 } };

  it('that is of another kind loses what only the old kind had', () => {
    const form = formOn(serial);
    expect(lineKind(form, ['link'])).toBe('serial');
    expect(lineChanges(form, ['link'])).toEqual([]);
    form.set(['link', 'kind'], 'tcp');
    form.set(['link', 'host'], '192.0.2.40');
    form.set(['link', 'port'], '5025');
    expect(lineChanges(form, ['link'])).toEqual([
      { kind: 'remove', path: ['at', 'link', 'path'] },
      { kind: 'remove', path: ['at', 'link', 'baudRate'] },
      { kind: 'set', path: ['at', 'link', 'kind'], value: 'tcp' },
      { kind: 'set', path: ['at', 'link', 'host'], value: '192.0.2.40' },
      { kind: 'set', path: ['at', 'link', 'port'], value: 5025 },
    ]);
  });

  it('that only moves to another port changes nothing else', () => {
    const form = formOn(serial);
    form.set(['link', 'path'], '/dev/ttyUSB3');
    expect(lineChanges(form, ['link'])).toEqual([
      { kind: 'set', path: ['at', 'link', 'path'], value: '/dev/ttyUSB3' },
    ]);
    const labels = lineFields('serial', ['link'], 'as it is').map(({ label }) => label);
    expect(labels).toEqual(['Reached by', 'Device', 'Bits a second']);
  });
});

describe('a sensor', () => {
  const probe = {
    id: 'bath',
    name: 'Bath',
    kind: 'temperature',
    unit: '°C',
    link: { kind: 'serial', path: '/dev/ttyUSB1' },
    high: { value: 30, action: 'trip' },
  };

  it('loses a limit as a whole where its number is taken away', () => {
    const form = formOn(probe);
    form.set(['high', 'value'], '');
    form.set(['low', 'value'], '18,5');
    expect(sensorChanges(form)).toEqual([
      { kind: 'set', path: ['at', 'low', 'value'], value: 18.5 },
      { kind: 'remove', path: ['at', 'high'] },
    ]);
  });

  it('that is new has the limits that were given, and no others', () => {
    const form = formOn({});
    for (const [path, text] of [
      ['id', 'bath'],
      ['name', 'Bath'],
      ['unit', '°C'],
    ] as const) {
      form.set([path], text);
    }
    form.set(['link', 'path'], '/dev/ttyUSB1');
    form.set(['high', 'value'], '30');
    expect(newSensor(form)).toEqual({
      id: 'bath',
      name: 'Bath',
      kind: 'temperature',
      unit: '°C',
      link: { kind: 'serial', path: '/dev/ttyUSB1' },
      high: { value: 30, action: 'alarm' },
      missing: 'alarm',
    });
  });
});

describe('the addresses to serve at', () => {
  it('take in what is ticked once, and leave the others as they were typed', () => {
    expect(listedWith('', '192.168.1.20', true)).toBe('192.168.1.20');
    expect(listedWith('fd00::2 ,10.0.0.4', '192.168.1.20', true)).toBe(
      'fd00::2, 10.0.0.4, 192.168.1.20',
    );
    expect(listedWith('192.168.1.20', '192.168.1.20', true)).toBe('192.168.1.20');
    expect(listedWith('192.168.1.20, 10.0.0.4', '192.168.1.20', false)).toBe('10.0.0.4');
    expect(listedWith('192.168.1.20', '192.168.1.20', false)).toBe('');
  });
});

describe('a header', () => {
  it('is a secret, unless a placeholder stands in its value', () => {
    expect(headerValue(' Bearer 123 ')).toEqual({ secret: 'Bearer 123' });
    expect(headerValue('{priority}')).toBe('{priority}');
    expect(headerValue('{who}')).toEqual({ secret: '{who}' });
  });
});

describe('a save that is refused', () => {
  const problem = {
    field: 'tanks.one.name',
    value: '"Two"',
    bound: 'as it is while a run is on One',
    message: 'tanks.one.name is "Two"; it must be as it is while a run is on One.',
  };
  const change = { kind: 'set' as const, path: ['tanks', 'one', 'name'], value: 'Two' };

  /** The daemon refuses each save in this way; the file is there to be read. */
  async function refused(code: 'stale' | 'refused' | 'invalid'): Promise<SetupDesk> {
    const error = new ProblemError(code, 'The daemon says why.', [problem]);
    vi.stubGlobal('fetch', (_path: string, { method }: RequestInit) =>
      Promise.resolve(
        method === 'POST'
          ? Response.json(error.document(), { status: error.status })
          : Response.json({ hash: 'h', data: {} }),
      ),
    );
    const desk = new SetupDesk(() => undefined);
    await desk.load();
    expect(await desk.save([change])).toBe(false);
    return desk;
  }

  it('since the file was changed meanwhile shows both sides', async () => {
    const { conflict, problems, error } = await refused('stale');
    expect(conflict).toEqual([problem]);
    expect(problems).toEqual([]);
    expect(error).toContain('Somebody else has changed the settings');
  });

  it.each(['refused', 'invalid'] as const)(
    'as %s shows what is wrong, and no word of somebody else',
    async (code) => {
      const { conflict, problems, error } = await refused(code);
      expect(conflict).toEqual([]);
      expect(problems).toEqual([problem]);
      expect(error).toBe('The daemon says why.');
    },
  );
});

describe('settings that were taken over', () => {
  it('are told to be in use once the file can be read, though the log cannot at first', async () => {
    const answers = new Map<string, () => Response>([
      ['/api/settings/take-over', () => Response.json({ ok: true, message: '' })],
      ['/api/settings/file', () => Response.json({ hash: 'h', data: {}, waiting: ['units'] })],
      ['/api/settings/history', () => Response.json([])],
    ]);
    vi.stubGlobal('fetch', (path: string) =>
      Promise.resolve(answers.get(path)?.() ?? Response.error()),
    );
    const desk = new SetupDesk(() => undefined);
    await desk.load();
    await desk.takeOver();
    expect(desk.told).toBe(setupWords.waiting.taking);
    const away = new ProblemError('unavailable', 'The log cannot be read.').document();
    answers.set('/api/settings/file', () => Response.json(away, { status: 503 }));
    expect(await desk.cameBack()).toBe(false);
    const { taking: waits } = setupWords.waiting;
    expect([desk.taking, desk.told, desk.error]).toEqual([true, waits, '']);
    // Nor the other way about: the file is there, the log is not.
    answers.set('/api/settings/history', () => Response.json(away, { status: 503 }));
    answers.set('/api/settings/file', () => Response.json({ hash: 'h', data: {}, waiting: [] }));
    expect(await desk.cameBack()).toBe(false);
    expect([desk.taking, desk.told]).toEqual([true, waits]);
    answers.set('/api/settings/history', () => Response.json([]));
    expect(await desk.cameBack()).toBe(true);
    expect([desk.taking, desk.told, desk.error]).toEqual([false, setupWords.waiting.taken, '']);
    // What changes the bench later is no news of that.
    desk.say('');
    expect(await desk.cameBack()).toBe(true);
    expect(desk.told).toBe('');
  });

  it.each([
    ['come into use unheard, as when this device sleeps, are told to be', true],
    ['cannot be read are told not to be in use', false],
  ])('that %s', async (_name, comes) => {
    vi.useFakeTimers();
    onTestFinished(() => void vi.useRealTimers());
    const answer = (path: string) =>
      path.endsWith('/take-over') || comes
        ? Response.json(path.endsWith('/history') ? [] : { ok: true, hash: 'h', waiting: [] })
        : Response.json({ type: '' }, { status: 503 });
    vi.stubGlobal('fetch', (path: string) => Promise.resolve(answer(path)));
    const desk = new SetupDesk(() => undefined);
    await desk.takeOver();
    await vi.advanceTimersByTimeAsync(30_000);
    const { notTaken, taken } = setupWords.waiting;
    expect([desk.taking, desk.told]).toEqual([false, comes ? taken : notTaken]);
  });

  it('that do not come into use are told as such, and can be taken over again', async () => {
    vi.useFakeTimers();
    onTestFinished(() => void vi.useRealTimers());
    const file = { hash: 'h', data: {}, waiting: ['units'] };
    vi.stubGlobal('fetch', (path: string) =>
      Promise.resolve(Response.json(path.endsWith('/history') ? [] : { ok: true, ...file })),
    );
    const desk = new SetupDesk(() => undefined);
    await desk.takeOver();
    expect(await desk.cameBack()).toBe(true);
    expect(desk.taking).toBe(true);
    await vi.advanceTimersByTimeAsync(30_000);
    const { notTaken, taken } = setupWords.waiting;
    expect([desk.taking, desk.told]).toEqual([false, notTaken]);
    // It comes after all.
    file.waiting = [];
    expect(await desk.cameBack()).toBe(true);
    expect(desk.told).toBe(taken);
  });
});
