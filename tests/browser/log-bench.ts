/** A log of a studio's nights, served to a browser by the real web server without a bench behind it. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { openStoreReader } from '../../daemon/store/door.ts';
import type { PartDescription } from '../../daemon/piece/model.ts';
import { bothWidths, expectSound, type Visitor } from './harness.ts';
import { writeLog, type Night } from '../store/a-log.ts';
import { tankSnapshot, webUnderTest } from '../web/fixture.ts';

const hourMs = 3_600_000;
const dayMs = 24 * hourMs;
/** The evening of the first night, as the browser's own clock has it. */
export const firstNight = new Date(2026, 0, 2, 21, 30).getTime();

const part = (kind: string, label: string, sizes: PartDescription['sizes']): PartDescription => ({
  kind,
  label,
  count: 1,
  platedFraction: 1,
  sizes,
});

const wire = (label: string, wireDiameterMm: number, lengthMm: number): PartDescription =>
  part('wire', label, { wireDiameterMm, lengthMm });

const pieces: readonly Pick<Night, 'piece' | 'parts'>[] = [
  { piece: 'Larch twig', parts: [wire('stem', 2.2, 120), wire('side twig', 1.4, 60)] },
  { piece: 'Poppy seed head', parts: [part('ball', 'head', { diameterMm: 22 })] },
  {
    piece: 'Alder cone',
    parts: [part('ball', 'cone', { diameterMm: 14 }), wire('stalk', 1.2, 25)],
  },
  { piece: 'Fern tip', parts: [wire('rib', 0.9, 80)] },
];

/** Twenty-seven nights: most reached their target, some did not, one went on from another. */
export function studioNights(): readonly Night[] {
  return Array.from({ length: 27 }, (_, index): Night => {
    const night = {
      id: `night-${index + 1}`,
      armedWallMs: firstNight + index * dayMs,
      ...pieces[index % pieces.length],
      bathId: index % 5 === 3 ? 'acid-copper-agitated' : 'acid-copper-still',
      densityAmpsPerDm2: 1.2 + 0.2 * (index % 3),
      targetMicrometres: 80 + 40 * (index % 4),
      everyMs: 30_000,
      ...(index % 3 === 1 && { lifts: [1.2] }),
    };
    if (index === 6) return { ...night, end: 'interrupted', hours: 2.4 };
    if (index === 7) return { ...night, ...pieces[2], continues: 'night-7' };
    if (index === 12) return { ...night, end: 'tripped', hours: 1.7 };
    if (index === 17) return { ...night, end: 'stopped', hours: 0.8 };
    if (index === 22) return { ...night, kind: 'probe' };
    return night;
  });
}

/** Serves these nights with the dashboard as it is shipped, until `close`. */
export async function logBench(nights: readonly Night[] = studioNights()) {
  const folder = mkdtempSync(join(tmpdir(), 'nightbath-log-'));
  const path = join(folder, 'nightbath.sqlite');
  writeLog(path, nights);
  const file = openStoreReader(path);
  const ends: (() => unknown)[] = [];
  const dashboardFolder = fileURLToPath(new URL('../../dist/dashboard', import.meta.url));
  const web = await webUnderTest({ file, dashboardFolder }, (end) => void ends.push(end));
  // A page that hears nothing of the bench says so, and greys what it shows.
  const frames = setInterval(() => {
    web.control.push({ type: 'tank', tank: tankSnapshot({ wallMs: Date.now() }) });
  }, 1000);
  return {
    url: `http://${web.host}`,
    web,
    close: async (): Promise<void> => {
      clearInterval(frames);
      for (const end of ends.toReversed()) await end();
      file.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

/** What has to hold on a page at both widths and in both looks, and a picture of each to be looked at. */
export async function shownInBothLooks(visitor: Visitor, name: string): Promise<void> {
  const { width } = visitor;
  for (const other of [...bothWidths.filter((one) => one !== width), width]) {
    await visitor.resize(other);
    await expectSound(visitor, `${name}-dark`);
    await visitor.page.emulateMedia({ colorScheme: 'light' });
    await visitor.shot(`${name}-light`);
    await visitor.page.emulateMedia({ colorScheme: 'dark' });
  }
}
