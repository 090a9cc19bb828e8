/** Judges a dialect file: strict keys, sound patterns, and parts that fit each other. */

import { dialectSchema, type Dialect, type ReplyShape, type Setting } from './dialect-schema.ts';

/** A dialect that cannot be used; the message has one line for each fault and names its key. */
export class DialectError extends Error {
  override readonly name = 'DialectError';
}

interface Query extends ReplyShape {
  readonly send: string;
}

function keyPath(path: readonly PropertyKey[]): string {
  let key = '';
  for (const step of path) {
    if (typeof step === 'number') key += `[${step}]`;
    else key += key === '' ? String(step) : `.${String(step)}`;
  }
  return key;
}

interface Issue {
  readonly code?: string | undefined;
  readonly path: readonly PropertyKey[];
  readonly message: string;
  readonly keys?: readonly string[];
  readonly input?: unknown;
}

function describeIssue(issue: Issue): string[] {
  if (issue.code === 'unrecognized_keys') {
    return (issue.keys ?? []).map((key) => `${keyPath([...issue.path, key])}: is not a known key`);
  }
  const missing = /received undefined/.test(issue.message);
  const key = keyPath(issue.path);
  return [`${key === '' ? 'the dialect' : key}: ${missing ? 'is missing' : issue.message}`];
}

/** Every query of a dialect with its key. */
function queriesOf(dialect: Dialect): [string, Query][] {
  const { ops, session } = dialect;
  const candidates: [string, Query | undefined][] = [
    ['session.identify', session.identify],
    ['session.knownReply', session.knownReply],
    ['session.errors', session.errors],
    ['session.powerOn', session.powerOn],
    ['ops.getVolts', ops.getVolts],
    ['ops.getAmps', ops.getAmps],
    ['ops.measureVolts', ops.measureVolts],
    ['ops.measureAmps', ops.measureAmps],
    ['ops.output', ops.output],
    ['ops.getOverVoltage', ops.getOverVoltage],
    ['ops.getOverCurrent', ops.getOverCurrent],
    ['ops.overVoltageEnabled', ops.overVoltageEnabled],
    ['ops.overCurrentEnabled', ops.overCurrentEnabled],
    ['ops.overCurrentSwitch.state', ops.overCurrentSwitch?.state],
    ['ops.minVolts', ops.minVolts],
    ['ops.maxVolts', ops.maxVolts],
    ['ops.minAmps', ops.minAmps],
    ['ops.maxAmps', ops.maxAmps],
    ...dialect.status.map((entry, index): [string, Query] => [`status[${index}]`, entry]),
  ];
  return candidates.filter((entry): entry is [string, Query] => entry[1] !== undefined);
}

function checkFraming(dialect: Dialect): string[] {
  const { rx, tx, link, session } = dialect;
  const faults: string[] = [];
  if (rx.mode === 'line') {
    if (rx.terminator === '') faults.push('rx.terminator: must not be empty where rx.mode is line');
    for (const [key, query] of queriesOf(dialect)) {
      if (query.length !== undefined || query.untilIdle) {
        faults.push(`${key}: length and untilIdle belong to rx.mode fixed`);
      }
    }
    return faults;
  }
  for (const [key, query] of queriesOf(dialect)) {
    if ((query.length !== undefined) === query.untilIdle) {
      faults.push(`${key}: needs either length or untilIdle where rx.mode is fixed`);
    }
  }
  if (tx.compound) faults.push('tx.compound: needs rx.mode line');
  if (rx.ack !== undefined) faults.push('rx.ack: needs rx.mode line');
  if (session.resync === 'ese-nonce') faults.push('session.resync: ese-nonce needs rx.mode line');
  if (link.flow === 'xonxoff') {
    faults.push('link.flow: xonxoff would swallow bytes of a reply that is not text');
  }
  return faults;
}

/** A protection is switched on for the sake of its level, and asked about where it was switched. */
function checkEnables({ ops }: Dialect): string[] {
  const faults: string[] = [];
  for (const what of ['OverVoltage', 'OverCurrent'] as const) {
    const enable = ops[`enable${what}`];
    if (enable !== undefined && ops[`set${what}`] === undefined) {
      faults.push(`ops.enable${what}: there is no ops.set${what}`);
    }
    const query = what === 'OverVoltage' ? 'overVoltageEnabled' : 'overCurrentEnabled';
    if (ops[query] !== undefined && enable === undefined) {
      faults.push(`ops.${query}: there is no ops.enable${what}`);
    }
  }
  if (ops.enableOverCurrent !== undefined && ops.overCurrentSwitch !== undefined) {
    faults.push('ops.enableOverCurrent: ops.overCurrentSwitch would switch it off again');
  }
  return faults;
}

function checkParts(dialect: Dialect): string[] {
  const { ops, session, limits, status, tx } = dialect;
  const faults: string[] = [];
  const need = (held: boolean, fault: string): void => {
    if (!held) faults.push(fault);
  };
  need(
    session.resync !== 'known-reply' || session.knownReply !== undefined,
    'session.knownReply: is missing; session.resync asks for it',
  );
  need(limits.minVolts < limits.maxVolts, 'limits.minVolts: must be below limits.maxVolts');
  need(limits.minAmps < limits.maxAmps, 'limits.minAmps: must be below limits.maxAmps');
  need(limits.stepVolts < limits.maxVolts, 'limits.stepVolts: must be below limits.maxVolts');
  need(limits.stepAmps < limits.maxAmps, 'limits.stepAmps: must be below limits.maxAmps');
  need(limits.offAmps < limits.maxAmps, 'limits.offAmps: must be below limits.maxAmps');
  const readBack: [string, unknown, unknown][] = [
    ['Volts', ops.getVolts, ops.setVolts],
    ['Amps', ops.getAmps, ops.setAmps],
    ['OverVoltage', ops.getOverVoltage, ops.setOverVoltage],
    ['OverCurrent', ops.getOverCurrent, ops.setOverCurrent],
  ];
  for (const [what, get, set] of readBack) {
    need(get === undefined || set !== undefined, `ops.get${what}: there is no ops.set${what}`);
  }
  const settings: [string, Setting | undefined, number][] = [
    ['setVolts', ops.setVolts, limits.stepVolts],
    ['setAmps', ops.setAmps, limits.stepAmps],
    ['setOverVoltage', ops.setOverVoltage, limits.stepVolts],
    ['setOverCurrent', ops.setOverCurrent, limits.stepAmps],
  ];
  for (const [key, setting, step] of settings) {
    if (setting === undefined) continue;
    const finest = setting.scale / 10 ** setting.digits;
    need(finest <= step * 1.001, `ops.${key}.digits: too few to write a step of ${step}`);
  }
  for (const [index, entry] of status.entries()) {
    for (const [place, rule] of entry.rules.entries()) {
      const key = `status[${index}].rules[${place}]`;
      if ('pattern' in rule) {
        need(entry.type === 'text', `${key}.pattern: needs type text`);
      } else {
        need(entry.type !== 'text', `${key}.mask: needs type integer or byte`);
        need((rule.equals & ~rule.mask) === 0, `${key}.equals: has bits outside its mask`);
      }
    }
  }
  for (const [key, query] of queriesOf(dialect)) {
    need(query.send.length <= tx.maxLine, `${key}.send: is longer than tx.maxLine`);
  }
  return faults;
}

/**
 * A dialect from the parsed content of its file. Throws a `DialectError` that names each key at
 * fault.
 */
export function parseDialect(raw: unknown): Dialect {
  const result = dialectSchema.safeParse(raw);
  if (!result.success) {
    throw new DialectError(result.error.issues.flatMap(describeIssue).join('\n'));
  }
  const faults = [
    ...checkFraming(result.data),
    ...checkParts(result.data),
    ...checkEnables(result.data),
  ];
  if (faults.length > 0) throw new DialectError(faults.join('\n'));
  return result.data;
}

const compiled = new Map<string, RegExp>();

/** The regular expression of a dialect's pattern, for the whole of a reply, built once. */
export function patternOf(source: string): RegExp {
  let pattern = compiled.get(source);
  if (pattern === undefined) {
    // The group keeps `^a|b$` from matching a mere beginning or end.
    pattern = new RegExp(`^(?:${source.slice(1, -1)})$`, 's');
    compiled.set(source, pattern);
  }
  return pattern;
}
