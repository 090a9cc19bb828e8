/** Opens the log for one command: read only, closed whatever happens, its errors in words. */

import { databaseFile, loadSettings } from '../settings/door.ts';
import { openStoreReader, StoreError } from '../store/door.ts';
import type { StoreReader } from '../store/door.ts';
import { configPathOf, exitCodes } from './command.ts';
import type { Call } from './command.ts';

/** Resolves with the exit code of `act`, or that of a database that cannot be read. */
export async function readingLog(
  call: Call,
  act: (reader: StoreReader, call: Call) => Promise<number>,
): Promise<number> {
  const { settings } = loadSettings({ env: call.terminal.env, ...configPathOf(call) });
  let reader: StoreReader | null = null;
  try {
    reader = openStoreReader(databaseFile(settings, call.terminal.env));
    return await act(reader, call);
  } catch (error) {
    if (!(error instanceof StoreError)) throw error;
    call.terminal.complain(error.message);
    return exitCodes.database;
  } finally {
    reader?.close();
  }
}
