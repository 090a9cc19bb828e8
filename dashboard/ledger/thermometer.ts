/** Thermometers of a tank, as far as a bath's ledger is concerned. */

import type { TankSnapshot } from '../../daemon/wire/bench.ts';
import type { LedgerView } from '../../daemon/wire/ledger.ts';
import type { LiveSensor } from '../../daemon/wire/sensors.ts';

/** Those of the tank that holds this bath today; none where it is another bath, or a tank of the past. */
export function thermometersOf(
  tank: TankSnapshot | null,
  { current }: Pick<LedgerView, 'current'>,
): readonly LiveSensor[] {
  if (!current) return [];
  return (tank?.sensors ?? []).filter(({ kind }) => kind === 'temperature');
}

/** What it says in °C, to a tenth; null where it says nothing, or in a unit that is neither °C nor °F. */
export function celsiusOf({ value, unit }: Pick<LiveSensor, 'value' | 'unit'>): number | null {
  if (value === null) return null;
  const degrees = unit.replaceAll(/[°\s]/g, '').toUpperCase();
  if (degrees === 'C') return Math.round(value * 10) / 10;
  return degrees === 'F' ? Math.round(((value - 32) / 1.8) * 10) / 10 : null;
}
