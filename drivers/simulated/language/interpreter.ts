/** Obeys SCPI program messages: path rules, parameters, errors, and replies joined in one line. */

import { ErrorQueue, type ScpiError } from './errors.ts';
import { isError, parseUnit, splitOutside, stripWhite, type Unit } from './message.ts';
import type { StatusRegisters } from './status.ts';
import { checkArguments, type Command, type LanguageRules, type ScpiDevice } from './table.ts';
import { createTree, findNode, type TreeNode } from './tree.ts';
import type { Supply } from '../supply.ts';

export class Interpreter {
  readonly rules: LanguageRules;
  readonly device: ScpiDevice;
  readonly #root: TreeNode;
  readonly #refresh: (device: ScpiDevice) => void;

  /** `refresh` brings the condition registers up to date with the supply. */
  constructor(
    supply: Supply,
    status: StatusRegisters,
    language: {
      readonly rules: LanguageRules;
      readonly commands: readonly Command[];
      readonly refresh: (device: ScpiDevice) => void;
    },
  ) {
    this.rules = language.rules;
    this.#root = createTree(language.commands);
    this.#refresh = language.refresh;
    const errors = new ErrorQueue((code) => status.noteError(code));
    this.device = { supply, status, errors, nowMs: 0, remote: 'local', messageWaits: false };
  }

  restart(): void {
    this.device.status.restart();
    this.device.errors.clear();
    this.device.remote = 'local';
  }

  /** Obeys one line without its terminator; null when it asked nothing. */
  execute(line: string, nowMs: number): string | null {
    const text = stripWhite(line);
    if (text === '') return null;
    const { device } = this;
    device.nowMs = nowMs;
    if (device.remote === 'local') device.remote = 'remote';
    const units = splitOutside(text, ';');
    if (units.length > 1 && !this.rules.compound) {
      device.errors.push({ code: -102, detail: 'one command a line' });
      return null;
    }
    const replies: string[] = [];
    let path = this.#root;
    for (const unitText of units) {
      const unit = parseUnit(unitText);
      if (isError(unit)) {
        // What follows a bad unit is still obeyed, so a reply can have fewer fields than were
        // asked.
        device.errors.push(unit);
        continue;
      }
      path = this.#obey(unit, path, replies);
    }
    this.#refresh(device);
    return replies.length === 0 ? null : replies.join(';');
  }

  /** Obeys one unit; returns the path for the next one. */
  #obey(unit: Unit, path: TreeNode, replies: string[]): TreeNode {
    const { device } = this;
    const node = findNode(this.#root, path, unit.header);
    if (typeof node === 'number') {
      device.errors.push({ code: node });
      return path;
    }
    const error = this.#run(unit, node.command, replies);
    if (error !== undefined) device.errors.push(error);
    return unit.header.common ? path : (node.parent ?? this.#root);
  }

  #run(unit: Unit, command: Command | null, replies: string[]): ScpiError | undefined {
    const { device } = this;
    const { query } = unit.header;
    if (command === null || (query ? command.ask : command.set) === undefined) {
      return { code: -113 };
    }
    const types = (query ? command.askParameters : command.parameters) ?? [];
    const values = checkArguments(unit.parameters, types, device, this.rules);
    if (isError(values)) return values;
    if (!query) return command.set?.(device, values);
    this.#refresh(device);
    device.messageWaits = replies.length > 0;
    const reply = command.ask?.(device, values);
    if (reply !== undefined) replies.push(reply);
    return undefined;
  }
}
