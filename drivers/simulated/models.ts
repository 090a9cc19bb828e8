/**
 * The four simulated supplies as data: who they say they are, what they can do, how fast they are.
 */

import type { Personality, SupplyLimits } from './model.ts';

export interface SupplyModel extends SupplyLimits {
  readonly maker: string;
  readonly model: string;
  readonly serial: string;
  readonly firmware: string;
  /** Digits after the point of a set-point and of a reading. */
  readonly voltsDigits: number;
  readonly ampsDigits: number;
  readonly latencyMs: number;
  /** Set-points after power-on and after a reset. */
  readonly startVolts: number;
  readonly startAmps: number;
  /** Set-points and protections survive a restart. */
  readonly remembersSettings: boolean;
  /**
   * Over-current protection: a level, only on or off at the set current, or fixed in the hardware.
   */
  readonly overCurrentKind: 'level' | 'switch' | 'fixed';
  readonly overCurrentDelayMs: number;
  /** Over-voltage protection: a level, or only on or off at a little above the set voltage. */
  readonly overVoltageKind: 'level' | 'switch';
  /** A level acts only while its protection is switched on; after power-on it is not. */
  readonly levelsHaveSwitches: boolean;
}

export const supplyModels: Readonly<Record<Personality, SupplyModel>> = {
  'scpi-subsystem': {
    maker: 'NIGHTBATH',
    model: 'SIM-30-5',
    serial: 'SIM0001',
    firmware: '1.0',
    maxVolts: 30,
    maxAmps: 5,
    stepVolts: 0.001,
    stepAmps: 0.0001,
    voltsDigits: 3,
    ampsDigits: 4,
    latencyMs: 4,
    startVolts: 0,
    startAmps: 5,
    remembersSettings: false,
    overCurrentKind: 'level',
    overCurrentDelayMs: 20,
    overVoltageKind: 'level',
    levelsHaveSwitches: true,
  },
  'scpi-channel-list': {
    maker: 'NIGHTBATH',
    model: 'SIM-20-3C',
    serial: 'SIM0002',
    firmware: '2.1',
    maxVolts: 20,
    maxAmps: 3,
    stepVolts: 0.001,
    stepAmps: 0.001,
    voltsDigits: 3,
    ampsDigits: 3,
    latencyMs: 6,
    startVolts: 0,
    startAmps: 0.1,
    remembersSettings: false,
    overCurrentKind: 'switch',
    overCurrentDelayMs: 100,
    overVoltageKind: 'level',
    levelsHaveSwitches: false,
  },
  'vset-iset': {
    maker: 'NIGHTBATH',
    model: 'SIM-18-10',
    serial: 'SIM0003',
    firmware: '3.2',
    maxVolts: 18,
    maxAmps: 10,
    stepVolts: 0.01,
    stepAmps: 0.001,
    voltsDigits: 2,
    ampsDigits: 3,
    latencyMs: 10,
    startVolts: 0,
    startAmps: 0,
    remembersSettings: false,
    overCurrentKind: 'fixed',
    overCurrentDelayMs: 50,
    overVoltageKind: 'level',
    levelsHaveSwitches: false,
  },
  'fixed-length': {
    maker: 'NIGHTBATH',
    model: 'SIM-31-5F',
    serial: 'SIM0004',
    firmware: '4.0',
    maxVolts: 31,
    maxAmps: 5,
    stepVolts: 0.01,
    stepAmps: 0.001,
    voltsDigits: 2,
    ampsDigits: 3,
    latencyMs: 15,
    startVolts: 0,
    startAmps: 0,
    remembersSettings: true,
    overCurrentKind: 'switch',
    overCurrentDelayMs: 60,
    overVoltageKind: 'switch',
    levelsHaveSwitches: false,
  },
};
