/** Spoiled JSON bodies, addresses and queries, through the real application: answered or refused, never failed. */

import { expect, test } from 'vitest';
import { partDefinition } from '../../daemon/piece/parts.ts';
import { pieceFormat, pieceFormatVersion, type PieceSummary } from '../../daemon/wire/library.ts';
import { type Command, type CommandAnswer } from '../../daemon/wire/command.ts';
import { checklistItems } from '../../daemon/wire/checklist.ts';
import { planResultSchema } from '../../daemon/wire/plan.ts';
import { sizeResultSchema } from '../../daemon/wire/sizes.ts';
import { problemDocumentSchema } from '../../daemon/web/problem.ts';
import { aPiece, aTracedPiece } from '../store/a-piece.ts';
import {
  HandControl,
  HandReader,
  planRequest,
  webUnderTest,
  type WebUnderTest,
} from '../web/fixture.ts';
import { effort, Findings, patienceMs, polluted, seed } from './effort.ts';
import { guardedWeb, passphrases } from '../web/sign-in.ts';
import { Chance, spoil, spoiledJson, type Json } from './random.ts';

interface Target {
  readonly method: 'POST' | 'PUT';
  readonly path: string;
  readonly body: object;
  /** Another address of the same kind, for all but the first time. */
  readonly oddPath?: (chance: Chance) => string;
}

const pictureId = 'a'.repeat(64);
const plan = planRequest();
/** A few kinds of parts with the sizes that are typical of them. */
function partsOf(...kinds: readonly string[]) {
  return kinds.map((kind) => {
    const fields = partDefinition(kind)?.fields ?? [];
    const sizes = Object.fromEntries(fields.map(({ name, typical }) => [name, typical]));
    return { kind, label: kind, count: 2, platedFraction: 0.5, sizes };
  });
}
const manyParts = {
  ...aPiece('Many parts'),
  parts: partsOf('ball', 'coil', 'chain', 'crystal', 'band', 'tube', 'hanger'),
};
const document = { format: pieceFormat, formatVersion: pieceFormatVersion, pictures: [] };

const planning: readonly Target[] = [
  { method: 'POST', path: '/api/plans', body: plan },
  {
    method: 'POST',
    path: '/api/plans',
    body: { ...plan, piece: manyParts, trickle: { densityAmpsPerDm2: 0.1, maxHours: 2 } },
  },
  {
    method: 'POST',
    path: '/api/plans',
    body: {
      ...plan,
      piece: aTracedPiece(pictureId),
      densityTyped: '15 mA/cm2',
      contact: { points: 2, farthestMm: 40 },
    },
  },
  {
    method: 'POST',
    path: '/api/plans',
    body: {
      ...plan,
      target: {
        kind: 'done-by',
        goal: { kind: 'mass', grams: 2 },
        localTime: '07:00',
        timeZone: 'Europe/Berlin',
      },
    },
  },
  { method: 'POST', path: '/api/plans/compare', body: { plan, densitiesAmpsPerDm2: [1, 2] } },
  { method: 'POST', path: '/api/sizes', body: { kind: 'wire', typed: '0.8 mm' } },
  { method: 'POST', path: '/api/sizes', body: { kind: 'ringSize', scale: 'iso', typed: '54' } },
  { method: 'POST', path: '/api/sizes', body: { kind: 'insideDiameter', insideDiameterMm: 17.2 } },
];
const commands: readonly Target[] = [
  {
    method: 'POST',
    path: '/api/tanks/beaker/arm',
    body: { plan, checklist: checklistItems.map(({ id }) => id), continues: null },
  },
  { method: 'POST', path: '/api/tanks/beaker/start', body: { runId: 'run-1', version: 1 } },
  { method: 'POST', path: '/api/tanks/beaker/disarm', body: { runId: 'run-1', version: 1 } },
  { method: 'POST', path: '/api/tanks/beaker/lift', body: { runId: 'run-1', version: 1 } },
  { method: 'POST', path: '/api/tanks/beaker/put-back', body: { runId: 'run-1', version: 1 } },
  { method: 'POST', path: '/api/tanks/beaker/stop', body: {} },
  { method: 'POST', path: '/api/tanks/beaker/demo', body: {} },
  { method: 'POST', path: '/api/alarms/3/acknowledge', body: {} },
];
const oddNames = [
  '',
  '.',
  '..',
  '%',
  '/',
  '\u0000',
  '\u202e',
  'phone ',
  '__proto__',
  '?',
  '#',
  '…',
];
const alerts: readonly Target[] = [
  { method: 'POST', path: '/api/alerts/confirm', body: { code: '4711' } },
  {
    method: 'POST',
    path: '/api/alerts/channels/phone/test',
    body: {},
    oddPath: (chance) => {
      const name = chance.one(oddNames).repeat(1 + chance.below(40));
      return `/api/alerts/channels/${encodeURIComponent(spoil(chance, name, oddNames))}/test`;
    },
  },
  {
    method: 'POST',
    path: '/api/alarms/3/acknowledge',
    body: {},
    oddPath: (chance) =>
      `/api/alarms/${encodeURIComponent(spoil(chance, '3', oddNames))}/acknowledge`,
  },
];
const signIn: readonly Target[] = [
  {
    method: 'POST',
    path: '/api/session',
    body: { passphrase: passphrases.control, name: 'Somebody' },
  },
  { method: 'POST', path: '/api/session', body: { passphrase: passphrases.view } },
];
const pieces: readonly Target[] = [
  { method: 'POST', path: '/api/pieces', body: { piece: manyParts } },
  { method: 'POST', path: '/api/pieces', body: { piece: aTracedPiece(pictureId) } },
  { method: 'PUT', path: '/api/pieces/piece-1', body: { piece: aPiece(), version: 1 } },
  { method: 'POST', path: '/api/pieces/piece-1/duplicate', body: { name: 'Another' } },
  { method: 'POST', path: '/api/pieces/piece-1/restore', body: {} },
];
const documents: readonly Target[] = [
  { method: 'POST', path: '/api/pieces/import', body: { ...document, piece: manyParts } },
  {
    method: 'POST',
    path: '/api/pieces/import',
    body: {
      ...document,
      piece: aTracedPiece(pictureId),
      pictures: [{ id: pictureId, mime: 'image/png', base64: 'iVBORw0KGgo=' }],
    },
  },
];

const summary: PieceSummary = {
  id: 'piece-1',
  version: 1,
  name: 'A piece',
  savedWallMs: 1,
  archived: false,
  partCount: 1,
  areaMm2: 1,
};

class Obliging extends HandControl {
  override answer = async (command: Command): Promise<CommandAnswer> => {
    // What a body has made of the command is of no interest here, and would fill the memory.
    this.sent.length = 0;
    if (command.kind.startsWith('piece-')) return { ok: true, piece: summary };
    return { ok: true, runId: 'run-1', version: 1, offConfirmed: true };
  };
}

/** Who asks, under which name of the bench. */
interface From {
  readonly host: string;
  readonly address: (chance: Chance) => string;
}

interface Asked {
  readonly method: string;
  readonly path: string;
  readonly body: string | null;
  readonly address: string;
}

function ask(web: WebUnderTest, { host }: From, asked: Asked): Promise<Response> {
  const { method, path, body, address } = asked;
  const origin = `http://${host}`;
  const headers = {
    host,
    origin,
    'x-nightbath': '1',
    'content-type': 'application/json',
    'idempotency-key': 'key-1',
  };
  const request = new Request(`${origin}${path}`, { method, headers, body });
  // As the server hands it on.
  return Promise.resolve(web.app.fetch(request, { remoteAddress: address }));
}

/** What is wrong with an answer; null where it is one that a page can show. */
function wrongWith(status: number, type: string, text: string): string | null {
  if (status >= 200 && status < 300) return null;
  if (status >= 500) return `status ${status}: ${text}`;
  const answer: unknown = JSON.parse(text);
  if (type === 'application/problem+json')
    return problemDocumentSchema.safeParse(answer).success ? null : 'no problem document';
  const told = planResultSchema.safeParse(answer);
  if (told.success && !told.data.ok && told.data.problems.length > 0) return null;
  return sizeResultSchema.safeParse(answer).success
    ? null
    : `status ${status} without problems: ${text}`;
}

const parts = () => ({ control: new Obliging(), reader: new HandReader(), validate: false });

async function here(): Promise<readonly [WebUnderTest, From]> {
  const web = await webUnderTest(parts());
  return [web, { host: web.host, address: () => '127.0.0.1' }];
}

/** Strangers from many places at the name that only others use: whoever wants in has to sign in. */
async function elsewhere(): Promise<readonly [WebUnderTest, From]> {
  const web = await guardedWeb(parts());
  const address = (chance: Chance) => `192.0.2.${chance.below(250)}`;
  return [web, { host: web.name, address }];
}

async function tryBodies(
  name: string,
  targets: readonly Target[],
  cases: number,
  place = here,
  timed = true,
): Promise<void> {
  const [web, from] = await place();
  const chance = new Chance(seed);
  const findings = new Findings(name);
  let accepted = 0;
  for (const target of targets) {
    const whole = { ...target, body: JSON.stringify(target.body), address: from.address(chance) };
    // oxlint-disable-next-line no-await-in-loop
    const sound = await ask(web, from, whole);
    // Pictures of a few bytes, and a control that obeys anything, are all that is not quite real.
    expect([200, 422], target.path).toContain(sound.status);
    if (sound.status === 200) accepted += 1;
  }
  expect(accepted).toBeGreaterThanOrEqual(targets.length / 2);
  for (let count = 0; count < cases; count += 1) {
    const target = chance.one(targets);
    const body = spoiledJson(chance, target.body as Json);
    const path = target.oddPath?.(chance) ?? target.path;
    const input = { path, body };
    const asked = { method: target.method, path, body, address: from.address(chance) };
    const call = async () => {
      const answer = await ask(web, from, asked);
      return [answer, await answer.text()] as const;
    };
    try {
      // oxlint-disable-next-line no-await-in-loop
      const [response, text] = await (timed ? findings.timedAsync(input, call) : call());
      const wrong = wrongWith(response.status, response.headers.get('content-type') ?? '', text);
      findings.count(response.ok ? 'accepted' : 'refused');
      if (wrong !== null) findings.add(wrong, input);
    } catch (error) {
      findings.add(`threw ${String(error)}`, input);
    }
    if (polluted()) findings.add('reached a prototype', input);
  }
  findings.tell();
}

test('bodies: plans and sizes', { timeout: patienceMs }, () =>
  tryBodies('bodies of plans and sizes', planning, effort('BODIES', 0.5, 300)),
);
test('bodies: commands', { timeout: patienceMs }, () =>
  tryBodies('bodies of commands', commands, effort('BODIES', 0.2, 200)),
);
test('bodies: pieces', { timeout: patienceMs }, () =>
  tryBodies('bodies of pieces', pieces, effort('BODIES', 0.2, 200)),
);
test('bodies: piece documents', { timeout: patienceMs }, () =>
  tryBodies('piece documents', documents, effort('BODIES', 0.1, 150)),
);
test('bodies: alerts', { timeout: patienceMs }, () =>
  tryBodies('bodies and addresses of alerts', alerts, effort('BODIES', 0.05, 100)),
);
// A passphrase takes its time to be judged, which is what it is for.
test('bodies: signing in', { timeout: patienceMs }, () =>
  tryBodies('bodies of sign-ins', signIn, effort('BODIES', 0.01, 40), elsewhere, false),
);

const lists = ['/api/alarms', '/api/alerts/deliveries', '/api/events', '/api/runs'];

test('queries: lists of alarms, deliveries, events and runs', { timeout: patienceMs }, async () => {
  const [web, from] = await here();
  const chance = new Chance(seed);
  const findings = new Findings('queries of lists');
  for (let count = effort('BODIES', 0.05, 150); count > 0; count -= 1) {
    const query = spoil(chance, chance.one(['limit=20', 'limit=5&before=40', 'before=1']), [
      ...oddNames,
      '-1',
      '1e9',
      '0x10',
      '&limit=',
      '9007199254740993',
    ]);
    const path = `${chance.one(lists)}?${query.replaceAll('#', '%23')}`;
    const asked = { method: 'GET', path, body: null, address: from.address(chance) };
    try {
      // oxlint-disable-next-line no-await-in-loop
      const [response, text] = await findings.timedAsync(asked, async () => {
        const answer = await ask(web, from, asked);
        return [answer, await answer.text()] as const;
      });
      const wrong = wrongWith(response.status, response.headers.get('content-type') ?? '', text);
      findings.count(response.ok ? 'accepted' : 'refused');
      if (wrong !== null) findings.add(wrong, asked);
    } catch (error) {
      findings.add(`threw ${String(error)}`, asked);
    }
  }
  findings.tell();
});
