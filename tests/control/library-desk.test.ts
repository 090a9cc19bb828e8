/** The library at the command desk of a bench with a tank: a run keeps its piece, and goes on beside uploads. */

import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { PieceDescription } from '../../daemon/piece/model.ts';
import { commandAnswerSchema, type Command } from '../../daemon/wire/command.ts';
import { png } from '../piece/picture/pictures.ts';
import { aPiece, aTracedPiece, idOf } from '../store/a-piece.ts';
import { aRequest, TankBench } from './a-tank.ts';

let bench: TankBench;
beforeEach(async () => {
  bench = await (await TankBench.open()).started();
});
afterEach(() => bench.close());

type Piece = Extract<Command, { kind: 'piece-add' }>['piece'];
const wired = (piece: PieceDescription) => piece as Piece;

async function add(piece: PieceDescription) {
  const answer = await bench.tell({ kind: 'piece-add', piece: wired(piece) });
  if (!answer.ok || answer.piece === undefined) throw new Error(JSON.stringify(answer));
  return answer.piece;
}

async function uploaded(bytes: Buffer): Promise<string> {
  const partBytes = 96 * 1024;
  const count = Math.ceil(bytes.length / partBytes);
  for (let index = 0; index < count; index += 1) {
    const base64 = bytes.subarray(index * partBytes, (index + 1) * partBytes).toString('base64');
    const part = { kind: 'picture-part', upload: idOf(bytes), index, count, base64 } as const;
    const answer = await bench.tell(part);
    expect(commandAnswerSchema.safeParse(answer).success).toBe(true);
    if (answer.ok && answer.picture !== undefined) return answer.picture.id;
  }
  throw new Error('The picture was not stored.');
}

describe('a run of a saved piece', () => {
  it('keeps the piece as it was, and the version that it was of', async () => {
    const { id, version } = await add(aPiece('Seed head', 20));
    const pieceRef = { id, version };
    const armed = await bench.arm(aRequest({ piece: aPiece('Seed head', 20), pieceRef }));
    if (!armed.ok) throw new Error(armed.reason);
    const edit = { kind: 'piece-edit', pieceId: id, version, piece: wired(aPiece('Other', 25)) };
    expect(await bench.tell(edit as Command)).toMatchObject({ ok: true, piece: { version: 2 } });
    await bench.tell({ kind: 'piece-archive', pieceId: id });
    await bench.tank.journal.settled();
    const reader = bench.reader();
    const { request } = reader.run(armed.runId ?? '')?.plan ?? {};
    expect(request).toMatchObject({ pieceRef, piece: aPiece('Seed head', 20) });
    expect(reader.library.piece(id, 1)?.piece).toEqual(request?.piece);
    reader.close();
  });

  it('goes on to its target while pictures and pieces are saved beside it', async () => {
    await bench.run(aRequest());
    const picture = await uploaded(png(4000, 3000, { paddingBytes: 3_900_000 }));
    await add(aTracedPiece(picture));
    await bench.over();
    const run = bench.tank.snapshot().run;
    expect(run?.outcome).toMatchObject({ end: 'reached' });
    const reader = bench.reader();
    expect(reader.library.pieces({ archived: false, limit: 5 })).toHaveLength(1);
    reader.close();
  });
});

describe('the desk', () => {
  it('saves once for one key, and again for another', async () => {
    const command: Command = { kind: 'piece-add', piece: wired(aPiece()) };
    const first = await bench.tell(command, 'same');
    expect(await bench.tell(command, 'same')).toEqual(first);
    expect(await bench.tell(command, 'other')).not.toEqual(first);
  });

  it('keeps remembering other answers while a picture comes in many parts', async () => {
    const command: Command = { kind: 'piece-add', piece: wired(aPiece()) };
    const first = await bench.tell(command, 'same');
    for (let index = 0; index < 600; index += 1) {
      await bench.tell({ kind: 'picture-part', upload: 'u', index: 0, count: 2, base64: 'AAAA' });
    }
    expect(await bench.tell(command, 'same')).toEqual(first);
  });

  it('words what is unknown, archived or out of date', async () => {
    const { id } = await add(aPiece());
    const edit = (version: number, name: string) =>
      bench.tell({ kind: 'piece-edit', pieceId: id, version, piece: wired(aPiece(name)) });
    await edit(1, 'Second');
    expect(await edit(1, 'Third')).toMatchObject({
      ok: false,
      code: 'stale',
      reason: expect.stringMatching(
        /^Version 2 of this piece \("Second"\) was saved at 2/,
      ) as string,
      problems: [{ field: 'version', value: '1', bound: '2' }],
    });
    await bench.tell({ kind: 'piece-archive', pieceId: id });
    expect(await edit(2, 'Fourth')).toMatchObject({
      code: 'refused',
      problems: [{ field: 'archived', value: 'true', bound: 'false' }],
    });
    expect(await bench.tell({ kind: 'piece-restore', pieceId: 'nobody' })).toMatchObject({
      code: 'notFound',
    });
    const impossible = wired({ ...aPiece(), areaUncertainty: 0.95 });
    expect(await bench.tell({ kind: 'piece-add', piece: impossible })).toMatchObject({
      code: 'invalid',
      problems: [{ field: 'areaUncertainty', value: '0.95' }],
    });
  });
});
