//go:build peers

package main

/*
#cgo CFLAGS: -I/usr/include/coin
#cgo LDFLAGS: -lCbcSolver -lCbc -lCgl -lOsiClp -lClpSolver -lClp -lOsi -lCoinUtils
#include <time.h>
#include <coin/Clp_C_Interface.h>
#include <coin/Cbc_C_Interface.h>

static double cbc_now_ms(void) {
	struct timespec t;
	clock_gettime(CLOCK_MONOTONIC, &t);
	return t.tv_sec * 1e3 + t.tv_nsec / 1e6;
}

// cbc_solve returns 0 optimal, 1 infeasible, 2 limit, 3 anything else.
static int cbc_solve(int n, int m, const double *cl, const double *cu, const double *cost, const int *whole,
	const double *rl, const double *ru, const int *starts, const int *indices, const double *values,
	double gap, double limit, double *obj, double *ms) {
	Cbc_Model *p = Cbc_newModel();
	Cbc_loadProblem(p, n, m, starts, indices, values, cl, cu, cost, rl, ru);
	for (int j = 0; j < n; j++) if (whole[j]) Cbc_setInteger(p, j);
	Cbc_setLogLevel(p, 0);
	Cbc_setParameter(p, "log", "0");
	Cbc_setAllowableGap(p, gap);
	Cbc_setAllowableFractionGap(p, 0);
	Cbc_setMaximumSeconds(p, limit);
	double start = cbc_now_ms();
	Cbc_solve(p);
	*ms = cbc_now_ms() - start;
	*obj = Cbc_getObjValue(p);
	int out = 3;
	if (Cbc_isSecondsLimitReached(p)) out = 2;
	else if (Cbc_isProvenInfeasible(p)) out = 1;
	else if (Cbc_isProvenOptimal(p)) out = 0;
	Cbc_deleteModel(p);
	return out;
}

// clp_solve is for models without whole numbers.
static int clp_solve(int n, int m, const double *cl, const double *cu, const double *cost,
	const double *rl, const double *ru, const int *starts, const int *indices, const double *values,
	double limit, double *obj, double *ms) {
	Clp_Simplex *p = Clp_newModel();
	Clp_setLogLevel(p, 0);
	Clp_loadProblem(p, n, m, starts, indices, values, cl, cu, cost, rl, ru);
	Clp_setMaximumSeconds(p, limit);
	double start = cbc_now_ms();
	Clp_dual(p, 0);
	*ms = cbc_now_ms() - start;
	*obj = Clp_objectiveValue(p);
	int st = Clp_status(p);
	Clp_deleteModel(p);
	return st == 0 ? 0 : st == 1 ? 1 : st == 3 ? 2 : 3;
}
*/
import "C"

import "time"

func init() { others = append(others, cbc{}) }

// cbc calls CBC, and CLP where nothing is whole, in the process.
type cbc struct{}

func (cbc) name() string { return "CBC" }
func (cbc) about() string {
	return "CBC " + C.GoString(C.Cbc_getVersion()) + ", libCbcSolver called in the process through cgo; only Cbc_solve with its " +
		"usual presolve and cuts, or CLP's Clp_dual for linear models, is timed; no parsing; one thread"
}

func (cbc) solve(in *instance, limit time.Duration) answer {
	f := in.flat
	n, m := C.int(len(f.Cost)), C.int(len(f.RowLower))
	var obj, ms C.double
	var st C.int
	if f.isWhole {
		st = C.cbc_solve(n, m, doubles(f.ColLower), doubles(f.ColUpper), doubles(f.Cost), ints(f.Whole),
			doubles(f.RowLower), doubles(f.RowUpper), ints(f.Starts), ints(f.Indices), doubles(f.Values),
			gapSteps, C.double(limit.Seconds()), &obj, &ms)
	} else {
		st = C.clp_solve(n, m, doubles(f.ColLower), doubles(f.ColUpper), doubles(f.Cost),
			doubles(f.RowLower), doubles(f.RowUpper), ints(f.Starts), ints(f.Indices), doubles(f.Values),
			C.double(limit.Seconds()), &obj, &ms)
	}
	return answer{statusOf(int(st)), float64(obj), time.Duration(float64(ms) * 1e6)}
}
