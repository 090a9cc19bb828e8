/** Every fault that can happen to a night: what it does, how long it lasts, and what it excuses. */

import { alerts } from './faults/alerts.ts';
import { cell } from './faults/cell.ts';
import { clock } from './faults/clock.ts';
import { database } from './faults/database.ts';
import { hostFaults } from './faults/host.ts';
import type { FaultKind } from './faults/kind.ts';
import { person } from './faults/person.ts';
import type { Row } from './faults/row.ts';
import { sentinel } from './faults/sentinel.ts';
import { serial } from './faults/serial.ts';
import { supply } from './faults/supply.ts';

function kindsOf(group: FaultKind['group'], rows: readonly Row[]): readonly FaultKind[] {
  return rows.map(([name, bearing, moments, effects, lastsMs, begin, fits = () => true]) => {
    return { name, group, benign: bearing === 'benign', moments, effects, lastsMs, begin, fits };
  });
}

/** All faults, in the order in which nights draw them: a seed means another night once it changes. */
export const catalogue: readonly FaultKind[] = [
  ...kindsOf('serial', serial),
  ...kindsOf('supply', supply),
  ...kindsOf('cell', cell),
  ...kindsOf('host', hostFaults),
  ...kindsOf('clock', clock),
  ...kindsOf('database', database),
  ...kindsOf('operator', person),
  ...kindsOf('sentinel', sentinel),
  ...kindsOf('alerts', alerts),
];
