/** The service unit and the device rule: what the sentinel needs of them is in them. */

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { exitCodes } from '../../daemon/cli/command.ts';
import { commands } from '../../daemon/cli/commands.ts';
import { budgetsFor } from '../../daemon/sentinel/budgets.ts';
import { packageRoot } from '../../daemon/settings/door.ts';

const read = (name: string) => readFileSync(join(packageRoot(), 'config', name), 'utf8');

describe('the service unit', () => {
  const unit = read('nightbath.service');
  const value = (key: string) => new RegExp(`^${key}=(.*)$`, 'm').exec(unit)?.[1] ?? '';

  it('lets only the sentinel hear the stop, and gives it the time it may need', () => {
    expect(value('KillMode')).toBe('mixed');
    const { shutDownMs, lastAttemptsMs } = budgetsFor(250);
    expect(Number(value('TimeoutStopSec')) * 1000).toBeGreaterThan(shutDownMs + lastAttemptsMs);
  });

  it('calls commands that there are, and switches off after the end', () => {
    const called = [...unit.matchAll(/^Exec\w+=-?\S+ (\w+)/gm)].map((match) => match[1]);
    expect(called).toEqual(['serve', 'off']);
    const names = commands.map(({ name }) => name);
    expect(called.every((name = '') => names.includes(name))).toBe(true);
  });

  it('does not start again what cannot work, and does after an unconfirmed OFF', () => {
    const codes = value('RestartPreventExitStatus').split(' ').map(Number);
    expect(codes).toEqual([exitCodes.usage, exitCodes.settings]);
    expect(value('Restart')).toBe('on-failure');
  });
});

describe('the device rule', () => {
  it('keeps modem programs away and carries no real device', () => {
    const rules = read('60-nightbath.rules')
      .split('\n')
      .filter((line) => line !== '' && !line.startsWith('#'));
    expect(rules).toHaveLength(1);
    expect(rules[0]).toContain('ENV{ID_MM_DEVICE_IGNORE}="1"');
    expect(rules[0]).toContain('ATTRS{idVendor}=="XXXX"');
  });
});
