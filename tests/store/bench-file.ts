/** Database files in throw-away folders, written on the test's own thread where no real one is needed. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';
import { openDatabase, type OpenDatabase } from '../../daemon/store/database.ts';
import { BatchPacker } from '../../daemon/store/readings-batch.ts';
import { ReadingsWriter } from '../../daemon/store/readings-writer.ts';
import { RecordsWriter } from '../../daemon/store/records-writer.ts';
import type { ReadingRow } from '../../daemon/wire/run.ts';

/** A folder of this test's own, gone after it. */
export function ownFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'nightbath-store-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

export function ownFile(): string {
  return join(ownFolder(), 'bench.db');
}

export interface BenchFile extends OpenDatabase {
  readonly records: RecordsWriter;
  readonly notices: string[];
  append(runId: string, rows: readonly ReadingRow[]): void;
}

/** The write side without its thread. Closed after the test. */
export function openBenchFile(file = ownFile()): BenchFile {
  const notices: string[] = [];
  const onNotice = (sentence: string) => void notices.push(sentence);
  const opened = openDatabase(file, { onNotice });
  const writer = new ReadingsWriter(opened.db);
  const records = new RecordsWriter(opened.db, onNotice);
  onTestFinished(() => opened.close());
  const append = (runId: string, rows: readonly ReadingRow[]) => {
    const packer = new BatchPacker();
    for (const row of rows) {
      const refusal = packer.add(runId, row);
      if (refusal !== null) throw new Error(refusal);
    }
    writer.append([packer.take()]);
  };
  return { ...opened, records, notices, append };
}
