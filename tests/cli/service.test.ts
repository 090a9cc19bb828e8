/** The service unit and the device rule: what the sentinel needs of them is in them. */

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { exitCodes } from '../../daemon/cli/command.ts';
import { commands } from '../../daemon/cli/commands.ts';
import { budgetsFor } from '../../daemon/sentinel/budgets.ts';
import { feedEveryMs } from '../../daemon/sentinel/service-manager.ts';
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

  it('waits for ready, and kills a sentinel that leaves its watchdog hungry', () => {
    expect(value('Type')).toBe('notify');
    // systemd-notify is a child of the sentinel.
    expect(value('NotifyAccess')).toBe('all');
    const { startUpMs, owedMs } = budgetsFor(250);
    expect(Number(value('TimeoutStartSec')) * 1000).toBeGreaterThan(2 * startUpMs + owedMs);
    const patienceMs = Number(value('WatchdogSec')) * 1000;
    const everyMs = feedEveryMs({ WATCHDOG_USEC: String(patienceMs * 1000) }, 1) ?? Infinity;
    expect(everyMs).toBeLessThanOrEqual(patienceMs / 3);
    // A process that is stopped acts on no other signal.
    expect(value('WatchdogSignal')).toBe('SIGKILL');
  });

  it('shuts nothing out that it needs: the port, the lock against sleep, its own folders', () => {
    expect(value('PrivateDevices')).toBe('');
    expect(unit).toMatch(/^DeviceAllow=char-ttyUSB rw$/m);
    expect(unit).toMatch(/^DeviceAllow=char-ttyACM rw$/m);
    expect(value('RestrictAddressFamilies').split(' ')).toContain('AF_UNIX');
    expect(value('StateDirectory')).toBe('nightbath');
    expect(value('MemoryDenyWriteExecute')).toBe('');
  });

  it('is allowed by its polkit rule to take the very locks that are asked for', () => {
    const rules = read('60-nightbath-sleep.rules');
    // Names of systemd's own policy file, org.freedesktop.login1.policy.
    for (const lock of ['block-sleep', 'block-idle', 'handle-lid-switch']) {
      expect(rules).toContain(`'org.freedesktop.login1.inhibit-${lock}'`);
    }
    expect(rules).toContain(`'${value('User')}'`);
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
