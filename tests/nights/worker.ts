/** A process that runs nights: told a seed over the channel of its parent, it answers with the report. */

import { catalogue } from './catalogue.ts';
import { leaveRealTime } from './host.ts';
import { readLibrary } from './library.ts';
import { runNight, type Order } from './night.ts';

const library = readLibrary(process.argv[2] ?? process.cwd());
leaveRealTime();

process.on('message', (order: Order) => {
  const before = process.cpuUsage();
  void runNight(order, library).then((night) => {
    const { record, ...report } = night;
    const { user, system } = process.cpuUsage(before);
    const told = { ...report, cpuMs: Math.round((user + system) / 1000) };
    process.send?.(order.whole ? { ...told, lines: record } : told);
  });
});
process.on('disconnect', () => process.exit());
process.send?.({ faults: catalogue.map(({ name }) => name) });
