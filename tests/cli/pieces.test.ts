/** `nightbath pieces`: the library out of a real database, and what it writes planned as it is. */

import { mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { LibraryWriter } from '../../daemon/store/library-writer.ts';
import { pieceDocumentSchema } from '../../daemon/wire/library.ts';
import { planResultSchema } from '../../daemon/wire/plan.ts';
import { png } from '../piece/picture/pictures.ts';
import { benchToml } from '../settings/bench-folder.ts';
import { aPiece, aTracedPiece, idOf, savedWallMs, upload } from '../store/a-piece.ts';
import { openBenchFile } from '../store/bench-file.ts';
import { CliBench } from './terminal.ts';

const photo = png(640, 480, { paddingBytes: 120_000 });
const toml = benchToml.replace('trial-dialect', 'scpi-subsystem');

async function benchWithPieces(): Promise<CliBench> {
  const bench = new CliBench(toml);
  onTestFinished(() => bench.remove());
  mkdirSync(join(bench.path, 'state'));
  const library = new LibraryWriter(openBenchFile(join(bench.path, 'state/nightbath.sqlite')).db);
  library.addPiece('head', aPiece('Poppy seed head', 20), savedWallMs);
  library.editPiece('head', 1, aPiece('Poppy seed head', 22), savedWallMs + 60_000);
  await upload(library, photo);
  library.addPiece('leaf', aTracedPiece(idOf(photo)), savedWallMs + 120_000);
  library.addPiece('old', aPiece('Old twig'), savedWallMs);
  library.archivePiece('old', savedWallMs + 1);
  return bench;
}

describe('nightbath pieces', () => {
  it('lists the newest version of each, for people and as JSON', async () => {
    const bench = await benchWithPieces();
    const { code, output } = await bench.run(['pieces']);
    expect(code).toBe(0);
    const lines = output.trim().split('\n');
    expect(lines).toHaveLength(3);
    expect(lines[1]).toMatch(/^leaf +1 +2026-01-12 09:32 +1 .*Beech leaf brooch$/);
    // A ball of 22 mm and a hook of 0.8 mm, 15 mm long: pi (22^2 + 0.8 x 15) mm2 and little more.
    expect(lines[2]).toMatch(/^head +2 +2026-01-12 09:31 +2 +0\.156 dm2 +Poppy seed head$/);
    const archived = await bench.run(['pieces', '--archived', '--json']);
    expect(JSON.parse(archived.output)).toMatchObject({ pieces: [{ id: 'old', archived: true }] });
  });

  it('writes a piece with its pictures, in the version asked for', async () => {
    const bench = await benchWithPieces();
    const newest = pieceDocumentSchema.parse(
      JSON.parse((await bench.run(['pieces', 'head'])).output),
    );
    expect(newest).toMatchObject({ piece: aPiece('Poppy seed head', 22), pictures: [] });
    const first = await bench.run(['pieces', 'head', '--version', '1']);
    expect(JSON.parse(first.output)).toMatchObject({ piece: aPiece('Poppy seed head', 20) });
    const leaf = pieceDocumentSchema.parse(
      JSON.parse((await bench.run(['pieces', 'leaf'])).output),
    );
    const [picture] = leaf.pictures;
    expect(picture).toMatchObject({ id: idOf(photo), mime: 'image/png' });
    expect(Buffer.compare(Buffer.from(picture?.base64 ?? '', 'base64'), photo)).toBe(0);
  });

  it('writes a file that nightbath plan takes as it is', async () => {
    const bench = await benchWithPieces();
    const file = join(bench.path, 'leaf.json');
    const written = await bench.run(['pieces', 'leaf', '--out', file]);
    expect([written.code, written.output]).toEqual([0, '']);
    expect(readFileSync(file).length).toBeGreaterThan(160_000);
    const options = ['--thickness', '120', '--paint', 'copper', '--json'];
    const { output, complaints } = await bench.run(['plan', file, ...options]);
    expect(complaints).toBe('');
    const result = planResultSchema.parse(JSON.parse(output));
    expect(result).toMatchObject({ ok: true });
    if (result.ok) expect(result.plan.request.piece).toEqual(aTracedPiece(idOf(photo)));
    const again = await bench.run(['pieces', 'leaf', '--out', file]);
    expect([again.code, again.complaints]).toEqual([1, expect.stringContaining('there already')]);
  });

  it('says so where there is none', async () => {
    const bench = await benchWithPieces();
    const unknown = await bench.run(['pieces', 'nobody']);
    expect([unknown.code, unknown.output]).toEqual([1, '']);
    expect(unknown.complaints).toContain('There is no piece "nobody".');
    const version = await bench.run(['pieces', 'head', '--version', '3']);
    expect(version.complaints).toContain('There is no version 3 of a piece "head".');
    const empty = new CliBench(toml);
    onTestFinished(() => empty.remove());
    expect(await empty.run(['pieces'])).toMatchObject({
      code: 0,
      output: 'There are no saved pieces yet.\n',
    });
  });

  describe('ends with 2 on', () => {
    let bench: CliBench;
    beforeAll(() => {
      bench = new CliBench(toml);
      return () => bench.remove();
    });
    it.each([
      [['a', 'b'], 'one word too many'],
      [['--version', '1'], '--version needs a piece'],
      [['--out', 'x.json'], '--out needs a piece'],
      [['a', '--archived'], '--archived takes no piece'],
      [['a', '--version', '0'], 'from 1 to 1000000000'],
    ])('%j: %s', async (args, words) => {
      const { code, complaints } = await bench.run(['pieces', ...args]);
      expect(code).toBe(2);
      expect(complaints).toContain(words);
      expect(complaints).toContain('See nightbath pieces --help');
    });
  });
});
