/** `nightbath check`: brings a real supply up, step by step, and ends with the settings for it. */

import { existsSync } from 'node:fs';
import { listSerialPorts } from '../../drivers/registry.ts';
import { controlSocketPath, dialectNames, loadSettings } from '../settings/door.ts';
import type { LoadedSettings } from '../settings/door.ts';
import { bounded, choose, leadsReady, mains } from './check-questions.ts';
import { probeSupply, type Powered } from './check-powered.ts';
import {
  afterMains,
  mainsSentence,
  settingsBlock,
  type AfterMains,
  type FoundSupply,
  type Step,
} from './check-report.ts';
import {
  expectIdentityOf,
  offAfterwards,
  PortError,
  setAndReadBack,
  tryDialect,
  type Limits,
  type Place,
  type Tried,
} from '../control/bring-up.ts';
import { writeSupply, writeTarget, writtenSentence, type WriteTarget } from './check-write.ts';
import { configOption, configPathOf, exitCodes, jsonOption, UsageError } from './command.ts';
import { wholeNumber, type Call, type Command } from './command.ts';
import { runningDaemon } from './daemon.ts';

type Fit = Extract<Tried, { fits: true }>;

const cautions =
  'Have the maker’s manual at hand, and the supply’s own switch within reach. Leave the bath out of ' +
  'this: a resistor of 5 to 30 ohms that bears 2 W is enough. Local rules come first.';

/** What is said on the way: with --json apart from the result. */
function sayer(call: Call): (line: string) => void {
  const { terminal } = call;
  return call.switches.has('json')
    ? (line) => terminal.complain(line)
    : (line) => terminal.print(line);
}

async function linkOf(call: Call): Promise<FoundSupply['link']> {
  const found = call.values['port'] === undefined ? await listSerialPorts() : [];
  const paths = found.map(({ path, stablePath }) => stablePath ?? path);
  if (call.values['port'] === undefined && paths.length === 0) {
    throw new PortError(
      'No serial device was found. Plug the supply in, or name its place with --port: a path, or ' +
        'tcp://HOST:PORT.',
    );
  }
  const path = await choose(call, 'port', 'Which one is the supply?', paths);
  const network = /^tcp:\/\/(?<host>[^:/]+|\[[0-9a-f:]+\]):(?<port>\d{1,5})$/i.exec(path)?.groups;
  if (network !== undefined) {
    const host = (network['host'] ?? '').replace(/^\[|\]$/g, '');
    return { kind: 'tcp', host, port: Number(network['port']) };
  }
  if (!existsSync(path) && !/^COM\d+$/i.test(path)) {
    throw new PortError(`${path} is not there. "nightbath ports" lists what is.`);
  }
  return { kind: 'serial', path, baudRate: wholeNumber(call, 'baud', 300, 4_000_000) };
}

/** The dialect that the supply answers in; the output stays as it is. */
async function dialectFor(call: Call, place: Place, say: (line: string) => void): Promise<Fit> {
  const { dialect } = call.values;
  const names = dialect === undefined ? dialectNames(place.env, place.settingsFile) : [dialect];
  const fits: Fit[] = [];
  for (const name of names) {
    const tried = await tryDialect(place, name);
    say(`  ${name}: ${tried.fits ? `answers as ${tried.report.identity.text}` : tried.why}`);
    if (tried.fits) fits.push(tried);
  }
  const [first] = fits;
  if (first === undefined) {
    throw new PortError(
      'The supply answers in none of these dialects. Look at the rate, the cable and its manual; ' +
        'DEVELOPERS.md says how to add a dialect.',
    );
  }
  if (fits.length === 1) return first;
  const choices = fits.map(({ dialect: name }) => name);
  const name = await choose(call, 'dialect', 'Which one does its manual show?', choices);
  const chosen = fits.find((fit) => fit.dialect === name);
  if (chosen === undefined) throw new UsageError(`"${name}" is not among ${choices.join(', ')}.`);
  return chosen;
}

async function limitsFor(call: Call, { report }: Fit): Promise<Limits> {
  const { range } = report;
  const maxAmps = await bounded(
    call,
    'max-amps',
    'The most that leads, clips and tank bear',
    range.maxAmps,
    'A',
  );
  const maxVolts = await bounded(
    call,
    'max-volts',
    'The highest voltage that may ever be set',
    Math.min(60, range.maxVolts),
    'V',
  );
  return { maxAmps, maxVolts };
}

interface Outcome {
  readonly supply: FoundSupply;
  readonly steps: readonly Step[];
  readonly after: AfterMains;
}

async function bringUp(call: Call, loaded: LoadedSettings): Promise<Outcome> {
  const say = sayer(call);
  const { env } = call.terminal;
  say(cautions);
  const link = await linkOf(call);
  const place: Place = { link, env, settingsFile: loaded.file };
  say('Asking who it is. Nothing is set and nothing is switched.');
  const fit = await dialectFor(call, place, say);
  const steps: Step[] = [identityStep(fit)];
  if (fit.report.outputOn === true) {
    const found = 'Its output is on. Switch it off at its panel, and look what hangs on it.';
    throw new PortError(found);
  }
  const limits = await limitsFor(call, fit);
  const supply: FoundSupply = {
    link,
    dialect: fit.dialect,
    identity: fit.report.identity.text,
    expectIdentity: expectIdentityOf(fit.report),
    ...limits,
  };
  const { maxAmps, maxVolts } = limits;
  steps.push({ id: 'limits', state: 'ok', found: `${maxAmps} A, ${maxVolts} V` });
  steps.push(protectionStep(fit));
  say('Setting a low voltage and current with the output off, and reading them back.');
  steps.push(...(await setAndReadBack(place, fit.dialect, limits)));
  const sound = steps.every(({ state }) => state !== 'failed');
  const powered = await poweredPart(call, supply, loaded, sound, say);
  steps.push(...powered.steps);
  if (powered.ran) steps.push(await offAfterwards(place, fit.dialect, limits));
  if (powered.cutShort) return { supply, steps, after: 'unknown' };
  const after = await mains(call);
  const state = after === 'off' ? 'ok' : after === 'on' ? 'failed' : 'skipped';
  steps.push({ id: 'mains', state, found: mainsSentence(after) });
  if (call.values['after-mains'] === undefined && after !== 'unknown') {
    say('Reading back that its output is off after that.');
    steps.push(await offAfterwards(place, fit.dialect, limits));
  }
  return { supply, steps, after };
}

function identityStep({ report, dialect }: Fit): Step {
  const { range, standingErrors, identity } = report;
  const errors = standingErrors.length === 0 ? '' : ` Its errors: ${standingErrors.join('; ')}.`;
  const found = `${identity.text} in ${dialect}, up to ${range.maxVolts} V and ${range.maxAmps} A.${errors}`;
  return { id: 'identity', state: 'ok', found };
}

function protectionStep({ lacks }: Fit): Step {
  return lacks === ''
    ? { id: 'protections', state: 'ok', found: 'it takes both limits, and tells its state' }
    : { id: 'protections', state: 'skipped', found: `it lacks: ${lacks}` };
}

async function poweredPart(
  call: Call,
  supply: FoundSupply,
  loaded: LoadedSettings,
  sound: boolean,
  say: (line: string) => void,
): Promise<Powered & { readonly ran: boolean }> {
  const skip = (found: string): Powered & { readonly ran: boolean } => ({
    steps: [
      { id: 'continuity', state: 'skipped', found },
      { id: 'drill', state: 'skipped', found },
    ],
    cutShort: false,
    ran: false,
  });
  if (!sound) return skip('a step before it failed');
  if (!(await leadsReady(call))) return skip('not asked for');
  say('Continuity check and limits drill, guarded and recorded. Ctrl-C switches off.');
  return { ...(await probeSupply(supply, loaded, call.terminal.env, say)), ran: true };
}

function blockOf({ supply, after, steps }: Outcome): string {
  const failed = steps.filter(({ state }) => state === 'failed');
  const remarks = [
    `${supply.identity}; ${mainsSentence(after)}.`,
    ...failed.map(({ id, found }) => `Failed in its bring-up: ${id}: ${found}`),
  ];
  const tank = {
    id: 'tank-1',
    name: 'Tank one',
    bath: 'acid-copper-still',
    volumeLitres: 5,
    anodeAreaDm2: 3,
    maxHours: 14,
  };
  return settingsBlock(tank, supply, remarks, false);
}

function conclude(call: Call, outcome: Outcome, target: WriteTarget | null): number {
  const { steps, supply, after } = outcome;
  const offConfirmed = steps.every(({ id, state }) => id !== 'output' || state === 'ok');
  const block = blockOf(outcome);
  const written = target && writeSupply(target, supply, steps, after);
  if (call.switches.has('json')) {
    const result = { supply, steps, afterMains: after, offConfirmed, settings: block, written };
    call.terminal.print(JSON.stringify(result, null, 2));
  } else {
    const lines = steps.map(({ id, state, found }) => `${state.padEnd(8)}${id.padEnd(13)}${found}`);
    const settings =
      target && written
        ? [writtenSentence(written, target.tankId)]
        : ['For your settings:', '', block];
    call.terminal.print(['', ...lines, '', ...settings].join('\n'));
  }
  if (!offConfirmed) {
    call.terminal.complain('THE OUTPUT IS NOT CONFIRMED OFF. Switch the supply off by hand.');
    return exitCodes.offNotConfirmed;
  }
  const failed = written?.ok === false || steps.some(({ state }) => state === 'failed');
  return failed ? exitCodes.failed : exitCodes.done;
}

async function run(call: Call): Promise<number> {
  const { terminal } = call;
  const loaded = loadSettings({ env: terminal.env, ...configPathOf(call) });
  const daemon = await runningDaemon(controlSocketPath(terminal.env, loaded.settings));
  if (daemon !== null) {
    daemon.close();
    terminal.complain('Nightbath is running on this bench and holds its supplies. End it first.');
    return exitCodes.supplyNotReachable;
  }
  const { write } = call.values;
  const target = write === undefined ? null : writeTarget(write, loaded.file, terminal.env);
  try {
    return conclude(call, await bringUp(call, loaded), target);
  } catch (error) {
    if (!(error instanceof PortError)) throw error;
    terminal.complain(error.message);
    return exitCodes.supplyNotReachable;
  }
}

export const checkCommand: Command = {
  words: [],
  options: {
    port: { value: 'PLACE', help: 'where the supply is: a device path, or tcp://HOST:PORT' },
    baud: { value: 'N', help: 'bits a second of a serial line; the dialect knows the usual rate' },
    dialect: { value: 'NAME', help: 'how it words its commands; left out, all are tried' },
    'max-amps': { value: 'A', help: 'the most that leads, clips and tank bear' },
    'max-volts': { value: 'V', help: 'the highest voltage that may ever be set' },
    'leads-ready': { help: 'the leads are joined through a resistor: power may flow' },
    'no-power': { help: 'leave out what needs the output on' },
    'after-mains': {
      value: 'WHAT',
      help: `what its output does when the mains comes back: ${afterMains.join(', ')}`,
    },
    write: { value: 'TANK', help: 'write what was found into the settings, as the supply of TANK' },
    json: jsonOption,
    config: configOption,
  },
  notes: [
    'Asks for what is not given. The output stays off until you say that the leads are joined ' +
      'through a resistor; then a low current flows for seconds, guarded and recorded like a run.',
    'Ends with the settings for this supply, to be pasted; with --write they are put into your own ' +
      'settings file, comments and order kept, and nothing is written where a step failed. 0: all steps done; 1: one failed; 69: the ' +
      'supply cannot be had, or Nightbath is running; 70: the output is not confirmed off.',
    '  nightbath check --port /dev/serial/by-id/usb-… --max-amps 3 --max-volts 6 --leads-ready',
  ],
  run,
};
