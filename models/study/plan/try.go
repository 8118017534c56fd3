package plan

import (
	"context"
	"fmt"

	"thumbed/models/hypotheses/power"
	"thumbed/models/study"
	"thumbed/models/study/portion"
)

// A planned is a plan, or the plans of all questions of a study: campaigns to draw, as
// one row of numbered pieces, and what they come to.
type planned[Result any] interface {
	Work() (portion.Work, error)
	campaigns(ctx context.Context, share portion.Portion, progress study.Progress) ([]power.Campaign, error)
	result(campaigns []power.Campaign) (Result, error)
	inputs() []study.FileSum
}

// try draws all campaigns and puts them together.
func try[Result any](ctx context.Context, p planned[Result], progress study.Progress) (out Result, err error) {
	campaigns, err := p.campaigns(ctx, portion.Portion{}, progress)
	if err != nil {
		return out, err
	}
	return p.result(campaigns)
}

// portionOf draws the campaigns of a portion.
func portionOf[Result any](ctx context.Context, p planned[Result], share portion.Portion, progress study.Progress) (*portion.File, error) {
	work, err := p.Work()
	if err != nil {
		return nil, err
	}
	campaigns, err := p.campaigns(ctx, share, progress)
	if err != nil {
		return nil, err
	}
	return portion.New(work, share, study.ThisBuild().Processor, campaigns)
}

// gather puts portions together. It fails where they were not drawn by the same work.
func gather[Result any](p planned[Result], whole *portion.Whole) (out Result, err error) {
	work, err := p.Work()
	if err != nil {
		return out, err
	}
	if !work.Same(whole.Work) {
		return out, fmt.Errorf("%s, its pilot or the program is no longer what the parts were drawn by: put it back, or draw all parts again", work.Source)
	}
	campaigns, err := portion.Decode[power.Campaign](whole)
	if err != nil {
		return out, err
	}
	return p.result(campaigns)
}

// repeat tries again and gives what was read and the numbers.
func repeat[Result interface{ JSON() ([]byte, error) }](ctx context.Context, p planned[Result], progress study.Progress) ([]study.FileSum, []byte, error) {
	result, err := try(ctx, p, progress)
	if err != nil {
		return p.inputs(), nil, err
	}
	numbers, err := result.JSON()
	return p.inputs(), numbers, err
}
