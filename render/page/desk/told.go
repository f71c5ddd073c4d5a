package desk

import (
	"context"

	"legtrace/circuit/visit"
	"legtrace/render/report"
)

// told is what of a visit its card does not wait for.
type told struct {
	// Suspects are told with how large each fault is; Others is what is left.
	Suspects []report.Explanation
	Others   float64
	Report   *report.Visit
	// File is the visit as a file; NoFile says why there is none.
	File, NoFile string
}

// fillTold tells of a visit what its card does not wait for.
func (b *bench) fillTold(ctx context.Context, x *situation, v *view) (err error) {
	if len(x.Notes) == 0 || x.drill != nil {
		return nil
	}
	if v.Visit, err = b.visit(ctx, x); err != nil {
		return err
	}
	if v.Told = v.Visit.told; v.Told == nil {
		v.Told, err = b.weighed(ctx, x.desk, aboutVisit(x), x.file)
	}
	return err
}

// weighed tells of a visit what its card did not wait for.
func (b *bench) weighed(ctx context.Context, desk *Desk, s State, file string) (*told, error) {
	u, err := b.upTo(ctx, desk, s.Notes)
	if err != nil {
		return nil, err
	}
	defer desk.shelf.put(u)
	u.job.Date, u.job.Complaint = day(s.Date), s.Complaint
	return b.tell(ctx, u.job, u.job.Record, desk.lib, file)
}

// tell tells all that is suspected in a visit, and writes it up.
func (b *bench) tell(ctx context.Context, j *visit.Job, kept visit.Record, lib *Library, file string) (*told, error) {
	var err error
	t := &told{}
	if t.Suspects, t.Others, err = report.Weighed(j, mostSuspects); err != nil {
		return nil, err
	}
	if t.Report, err = b.Reporter.Visit(ctx, j); err != nil || lib.VisitFile == nil {
		return t, err
	}
	text, err := lib.VisitFile(file, b.c, kept)
	if err != nil {
		t.NoFile = err.Error()
	}
	t.File = string(text)
	return t, nil
}
