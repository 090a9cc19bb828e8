/** Spoiled JSON bodies, piece documents among them, through the real application: answered or refused, never failed. */

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
import { Chance, spoiledJson, type Json } from './random.ts';

interface Target {
  readonly method: 'POST' | 'PUT';
  readonly path: string;
  readonly body: object;
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

function ask(web: WebUnderTest, { method, path }: Target, body: string): Promise<Response> {
  const origin = `http://${web.host}`;
  const headers = {
    host: web.host,
    origin,
    'x-nightbath': '1',
    'content-type': 'application/json',
    'idempotency-key': 'key-1',
  };
  const request = new Request(`${origin}${path}`, { method, headers, body });
  // As the server hands it on: somebody at this machine.
  return Promise.resolve(web.app.fetch(request, { remoteAddress: '127.0.0.1' }));
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

async function tryBodies(name: string, targets: readonly Target[], cases: number): Promise<void> {
  const web = await webUnderTest({
    control: new Obliging(),
    reader: new HandReader(),
    validate: false,
  });
  const chance = new Chance(seed);
  const findings = new Findings(name);
  let accepted = 0;
  for (const target of targets) {
    // oxlint-disable-next-line no-await-in-loop
    const sound = await ask(web, target, JSON.stringify(target.body));
    // Pictures of a few bytes, and a control that obeys anything, are all that is not quite real.
    expect([200, 422], target.path).toContain(sound.status);
    if (sound.status === 200) accepted += 1;
  }
  expect(accepted).toBeGreaterThanOrEqual(targets.length / 2);
  for (let count = 0; count < cases; count += 1) {
    const target = chance.one(targets);
    const body = spoiledJson(chance, target.body as Json);
    const input = { path: target.path, body };
    try {
      // oxlint-disable-next-line no-await-in-loop
      const [response, text] = await findings.timedAsync(input, async () => {
        const answer = await ask(web, target, body);
        return [answer, await answer.text()] as const;
      });
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
