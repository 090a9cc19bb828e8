/** The bath as plans on the page see it: with the efficiency that was taken over from weigh-ins. */

import type { Bath } from '../chemistry/model.ts';
import { databaseFile } from '../settings/door.ts';
import type { LoadedSettings } from '../settings/door.ts';
import { bathInTank, openStoreReader, StoreError } from '../store/door.ts';
import type { Terminal } from './command.ts';

/** A log that cannot be read is said, and the figure of the bath's file taken. */
export function bathAsPlanned(
  bath: Bath,
  tankId: string,
  { settings }: LoadedSettings,
  terminal: Pick<Terminal, 'env' | 'complain'>,
): Bath {
  try {
    const reader = openStoreReader(databaseFile(settings, terminal.env));
    try {
      return bathInTank(bath, tankId, reader.ledger.adopted());
    } finally {
      reader.close();
    }
  } catch (error) {
    if (!(error instanceof StoreError)) throw error;
    terminal.complain(`${error.message} The efficiency of the bath's file is used.`);
    return bath;
  }
}
