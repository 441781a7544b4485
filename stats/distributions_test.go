package stats_test

import (
	"testing"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// The tails this package leans on are gonum's; they must agree with R.
func TestDistributionVectors(t *testing.T) {
	var v struct {
		Qnorm  struct{ P, Q []float64 }
		Pnorm  struct{ Z, P []float64 }
		QT975  struct{ DF, Q []float64 }
		QT95   struct{ DF, Q []float64 }
		PT     struct{ T, DF, P []float64 }     `json:"pt_upper"`
		PF     struct{ F, D1, D2, P []float64 } `json:"pf_upper"`
		PChisq struct{ X, DF, P []float64 }     `json:"pchisq_upper"`
		PBeta  struct{ X, A, B, P []float64 }
	}
	vector(t, "distributions", &v)
	if len(v.Qnorm.P) != 6 || len(v.Pnorm.Z) != 6 || len(v.QT975.DF) != 8 || len(v.QT95.DF) != 8 ||
		len(v.PT.T) != 4 || len(v.PF.F) != 4 || len(v.PChisq.X) != 4 || len(v.PBeta.X) != 4 {
		t.Fatal("values are missing")
	}
	for i, p := range v.Qnorm.P {
		near(t, "normal quantile", distuv.UnitNormal.Quantile(p), v.Qnorm.Q[i], 1e-13)
	}
	for i, z := range v.Pnorm.Z {
		near(t, "normal tail", distuv.UnitNormal.CDF(z), v.Pnorm.P[i], 1e-14)
	}
	for i, df := range v.QT975.DF {
		near(t, "t .975", distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(.975), v.QT975.Q[i], 1e-10)
		near(t, "t .95", distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(.95), v.QT95.Q[i], 1e-10)
	}
	for i, x := range v.PT.T {
		near(t, "t tail", distuv.StudentsT{Sigma: 1, Nu: v.PT.DF[i]}.Survival(x), v.PT.P[i], 1e-12)
	}
	for i, x := range v.PF.F {
		near(t, "F tail", distuv.F{D1: v.PF.D1[i], D2: v.PF.D2[i]}.Survival(x), v.PF.P[i], 1e-12)
	}
	for i, x := range v.PChisq.X {
		near(t, "chi-squared tail", distuv.ChiSquared{K: v.PChisq.DF[i]}.Survival(x), v.PChisq.P[i], 1e-12)
	}
	for i, x := range v.PBeta.X {
		near(t, "beta", mathext.RegIncBeta(v.PBeta.A[i], v.PBeta.B[i], x), v.PBeta.P[i], 1e-13)
	}
}
