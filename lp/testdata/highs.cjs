// Solves program texts with HiGHS: one JSON string a line comes in, one JSON
// object {Status, Objective} or {Error} a line goes out.
//
//   node highs.cjs FOLDER_OF_THE_PACKAGE
"use strict";

const readline = require("node:readline");
const load = require(process.argv[2]);

const options = {
  output_flag: false,
  threads: 1,
  time_limit: 10,
  primal_feasibility_tolerance: 1e-9,
  dual_feasibility_tolerance: 1e-9,
  mip_feasibility_tolerance: 1e-9,
  mip_rel_gap: 0,
  mip_abs_gap: 0,
};

// attempt solves once; an error is a status of its own.
function attempt(highs, text, more) {
  try {
    return highs.solve(text, { ...options, ...more });
  } catch (e) {
    if (!(e instanceof Error) || e instanceof WebAssembly.RuntimeError) throw e;
    return { Status: String(e) };
  }
}

// Presolve may leave open which of infeasible and unbounded it is, has called
// an unbounded program infeasible (vectors/unbounded-1150.json), and has ended
// in an error. Then the answer without presolve counts.
function solve(highs, text) {
  let r = attempt(highs, text, {});
  if (r.Status !== "Optimal" && r.Status !== "Unbounded") {
    r = attempt(highs, text, { presolve: "off" });
  }
  return { Status: r.Status, Objective: r.ObjectiveValue };
}

async function main() {
  let highs = await load();
  for await (const line of readline.createInterface({ input: process.stdin })) {
    let answer;
    try {
      answer = solve(highs, JSON.parse(line));
    } catch (e) {
      answer = { Error: String(e) };
      highs = await load(); // an aborted module is of no further use
    }
    process.stdout.write(JSON.stringify(answer) + "\n");
  }
}

main();
