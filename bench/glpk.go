//go:build peers

package main

/*
#cgo LDFLAGS: -lglpk
#include <math.h>
#include <stdlib.h>
#include <time.h>
#include <glpk.h>

static double now_ms(void) {
	struct timespec t;
	clock_gettime(CLOCK_MONOTONIC, &t);
	return t.tv_sec * 1e3 + t.tv_nsec / 1e6;
}

// stop_at_gap ends the search when the absolute gap is small enough: GLPK's own
// parameter is relative only.
static void stop_at_gap(glp_tree *tree, void *info) {
	glp_prob *p = glp_ios_get_prob(tree);
	if (glp_mip_status(p) != GLP_FEAS) return;
	int best = glp_ios_best_node(tree);
	if (best == 0) return;
	if (glp_mip_obj_val(p) - glp_ios_node_bound(tree, best) <= *(double *)info) glp_ios_terminate(tree);
}

static int kind(double lo, double hi, double inf) {
	if (lo <= -inf) return hi >= inf ? GLP_FR : GLP_UP;
	if (hi >= inf) return GLP_LO;
	return lo == hi ? GLP_FX : GLP_DB;
}

// glpk_solve returns 0 optimal, 1 infeasible, 2 limit, 3 anything else.
static int glpk_solve(int n, int m, const double *cl, const double *cu, const double *cost, const int *whole,
	const double *rl, const double *ru, const int *starts, const int *indices, const double *values,
	int is_whole, double gap, int limit, double inf, double *obj, double *ms) {
	glp_term_out(GLP_OFF);
	glp_prob *p = glp_create_prob();
	glp_add_rows(p, m);
	glp_add_cols(p, n);
	for (int i = 0; i < m; i++) glp_set_row_bnds(p, i + 1, kind(rl[i], ru[i], inf), rl[i], ru[i]);
	int *ind = malloc((m + 1) * sizeof(int));
	double *val = malloc((m + 1) * sizeof(double));
	for (int j = 0; j < n; j++) {
		glp_set_col_bnds(p, j + 1, kind(cl[j], cu[j], inf), cl[j], cu[j]);
		glp_set_obj_coef(p, j + 1, cost[j]);
		if (whole[j]) glp_set_col_kind(p, j + 1, GLP_IV);
		int k = 0;
		for (int e = starts[j]; e < starts[j + 1]; e++) {
			k++;
			ind[k] = indices[e] + 1;
			val[k] = values[e];
		}
		glp_set_mat_col(p, j + 1, k, ind, val);
	}
	free(ind);
	free(val);
	int out = 3, rc, st;
	double start = now_ms();
	if (is_whole) {
		glp_iocp o;
		glp_init_iocp(&o);
		o.msg_lev = GLP_MSG_OFF;
		o.presolve = GLP_ON;
		o.tm_lim = limit;
		o.cb_func = stop_at_gap;
		o.cb_info = &gap;
		rc = glp_intopt(p, &o);
		*ms = now_ms() - start;
		st = glp_mip_status(p);
		*obj = glp_mip_obj_val(p);
		if (rc == GLP_ETMLIM) out = 2;
		else if (rc == GLP_ENOPFS || (rc == 0 && st == GLP_NOFEAS)) out = 1;
		else if ((rc == 0 && st == GLP_OPT) || (rc == GLP_ESTOP && st == GLP_FEAS)) out = 0;
	} else {
		glp_smcp o;
		glp_init_smcp(&o);
		o.msg_lev = GLP_MSG_OFF;
		o.tm_lim = limit;
		o.meth = GLP_DUALP;
		glp_scale_prob(p, GLP_SF_AUTO);
		glp_adv_basis(p, 0);
		rc = glp_simplex(p, &o);
		*ms = now_ms() - start;
		st = glp_get_status(p);
		*obj = glp_get_obj_val(p);
		if (rc == GLP_ETMLIM) out = 2;
		else if (rc == 0 && st == GLP_NOFEAS) out = 1;
		else if (rc == 0 && st == GLP_OPT) out = 0;
	}
	glp_delete_prob(p);
	return out;
}
*/
import "C"

import "time"

func init() { others = append(others, glpk{}) }

// glpk calls libglpk in the process.
type glpk struct{}

func (glpk) name() string { return "GLPK" }
func (glpk) about() string {
	return "GLPK " + C.GoString(C.glp_version()) + ", libglpk called in the process through cgo; only glp_scale_prob, glp_adv_basis and " +
		"glp_simplex (dual), or glp_intopt with its presolver and a callback for the absolute gap, are timed; no parsing; one thread"
}

func (glpk) solve(in *instance, limit time.Duration) answer {
	f := in.flat
	var obj, ms C.double
	st := C.glpk_solve(C.int(len(f.Cost)), C.int(len(f.RowLower)), doubles(f.ColLower), doubles(f.ColUpper), doubles(f.Cost), ints(f.Whole),
		doubles(f.RowLower), doubles(f.RowUpper), ints(f.Starts), ints(f.Indices), doubles(f.Values),
		flag01(f.isWhole), gapSteps, C.int(limit.Milliseconds()), infinite, &obj, &ms)
	return answer{statusOf(int(st)), float64(obj), time.Duration(float64(ms) * 1e6)}
}

// doubles and ints hand a slice to C, which keeps nothing of it.
func doubles(v []float64) *C.double { return (*C.double)(&v[0]) }
func ints(v []int32) *C.int         { return (*C.int)(&v[0]) }

func flag01(v bool) C.int {
	if v {
		return 1
	}
	return 0
}

// statusOf turns the small numbers of the C functions into words.
func statusOf(st int) string {
	return [...]string{"optimal", "infeasible", "limit", "no answer"}[st]
}
