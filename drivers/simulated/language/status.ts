/**
 * IEEE 488.2 and SCPI status registers (from memory of IEEE 488.2 chapter 11 and SCPI-1999 volume
 * 1).
 */

import type { ErrorCode } from './errors.ts';

/** Bits of the standard event status register. */
const operationComplete = 1;
const queryError = 4;
const deviceError = 8;
const executionError = 16;
const commandError = 32;
const powerOn = 128;

/** A SCPI register group: condition now, event latched on a rising bit, enable mask. */
export class RegisterGroup {
  #condition = 0;
  #event = 0;
  enable = 0;

  get condition(): number {
    return this.#condition;
  }

  /** Brings the condition up to date and latches the bits that have risen. */
  update(condition: number): void {
    this.#event |= condition & ~this.#condition;
    this.#condition = condition;
  }

  /** Reads and clears the latched events. */
  takeEvent(): number {
    const event = this.#event;
    this.#event = 0;
    return event;
  }

  clearEvent(): void {
    this.#event = 0;
  }

  get summary(): boolean {
    return (this.#event & this.enable) !== 0;
  }
}

export class StatusRegisters {
  readonly operation = new RegisterGroup();
  readonly questionable = new RegisterGroup();
  #event = powerOn;
  eventEnable = 0;
  serviceEnable = 0;

  /** As after power-on: masks cleared, the power-on bit set. */
  restart(): void {
    this.#event = powerOn;
    this.eventEnable = 0;
    this.serviceEnable = 0;
    for (const group of [this.operation, this.questionable]) {
      group.clearEvent();
      group.enable = 0;
    }
  }

  /** `*CLS`: events go, masks stay. */
  clear(): void {
    this.#event = 0;
    this.operation.clearEvent();
    this.questionable.clearEvent();
  }

  /** `STAT:PRES`: masks of the SCPI groups go, events stay. */
  preset(): void {
    this.operation.enable = 0;
    this.questionable.enable = 0;
  }

  noteError(code: ErrorCode): void {
    if (code <= -400) this.#event |= queryError;
    else if (code <= -300) this.#event |= deviceError;
    else if (code <= -200) this.#event |= executionError;
    else this.#event |= commandError;
  }

  noteComplete(): void {
    this.#event |= operationComplete;
  }

  takeEvent(): number {
    const event = this.#event;
    this.#event = 0;
    return event;
  }

  /** The status byte as `*STB?` answers it: bit 6 is the summary of the others under the mask. */
  statusByte(errorsWait: boolean, messageWaits: boolean): number {
    let byte = 0;
    if (errorsWait) byte |= 4;
    if (this.questionable.summary) byte |= 8;
    if (messageWaits) byte |= 16;
    if ((this.#event & this.eventEnable) !== 0) byte |= 32;
    if (this.operation.summary) byte |= 128;
    if ((byte & this.serviceEnable) !== 0) byte |= 64;
    return byte;
  }
}
