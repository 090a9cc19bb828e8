/** Reads the log's own documents. */

import type { LogPage, Portrait } from '../../daemon/wire/log.ts';
import { read } from '../api.ts';
import { askFor, type LogSearch } from './log-address.ts';

export function readLogPage(search: LogSearch): Promise<LogPage> {
  return read(askFor(search));
}

export function readPortrait(runId: string): Promise<Portrait> {
  return read(`/api/runs/${runId}/portrait`);
}
