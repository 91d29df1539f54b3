// Solves models with HiGHS for the comparison: one JSON model a line comes in,
// one JSON object {Status, Objective, Ms} a line goes out. The first line out is
// the version.
//
//   node highs.cjs FOLDER_OF_THE_PACKAGE
"use strict";

const path = require("node:path");
const readline = require("node:readline");
const load = require(process.argv[2]);
const { version } = require(path.join(process.argv[2], "package.json"));

function solve(highs, ask) {
  const m = ask.model;
  const model = highs.createModel({
    numCols: m.colCost.length,
    numRows: m.rowLower.length,
    colCost: m.colCost,
    colLower: m.colLower,
    colUpper: m.colUpper,
    rowLower: m.rowLower,
    rowUpper: m.rowUpper,
    matrix: {
      format: "csc",
      numCols: m.colCost.length,
      numRows: m.rowLower.length,
      starts: m.starts,
      indices: m.indices,
      values: m.values,
    },
    ...(ask.whole ? { integrality: m.integrality } : {}),
  });
  try {
    model.options.set({
      output_flag: false,
      // The quicker choice for small linear models; whole ones need presolve.
      presolve: ask.whole ? "choose" : "off",
      time_limit: ask.seconds,
      mip_rel_gap: 0,
      mip_abs_gap: ask.gap,
    });
    const start = performance.now();
    model.run();
    const ms = performance.now() - start;
    const s = highs.constants.modelStatus;
    const names = { [s.optimal]: "optimal", [s.infeasible]: "infeasible", [s.timeLimit]: "limit" };
    const status = model.getModelStatus();
    const found = status === s.optimal;
    return { Status: names[status] ?? `status ${status}`, Objective: found ? model.getObjectiveValue() : 0, Ms: ms };
  } finally {
    model.dispose();
  }
}

async function main() {
  let highs = await load();
  process.stdout.write(`HiGHS ${version} on node ${process.version}\n`);
  for await (const line of readline.createInterface({ input: process.stdin })) {
    let answer;
    try {
      answer = solve(highs, JSON.parse(line));
    } catch (e) {
      answer = { Status: String(e), Objective: 0, Ms: 0 };
      highs = await load();
    }
    process.stdout.write(JSON.stringify(answer) + "\n");
  }
}

main();
