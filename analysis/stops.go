package analysis

type judgement struct{}
type judgeScratch struct{}

func (s *judgeScratch) init()         {}
func (r *Rocking) judge()             {}
func (r *Rocking) report() Backlash   { return refusedBacklash() }
func (r *Rocking) announce()          {}
func (r *Rocking) watchLift(b *block) {}
