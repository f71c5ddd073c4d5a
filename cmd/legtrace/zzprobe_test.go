package main
import ("testing";"context";"fmt";"time";"legtrace/netlists";"legtrace/circuit/meter";"legtrace/circuit")
func TestZZ(t *testing.T){
 for _,e:=range netlists.Catalog(){ c,_:=netlists.Open(e.Name); b:=meter.New(c,meter.DefaultInstrument())
  for _,m:=range c.Modes(){ var best circuit.BranchID=-1; for _,x:=range m.Expect{ if x.Share>0 && (best<0||c.Branch(x.Load).Watts>c.Branch(best).Watts){best=x.Load}}
   if best<0 {continue}
   t0:=time.Now(); l,err:=b.TestList(context.Background(),m.ID,best); if err!=nil{fmt.Println(e.Name,m.Name,err);continue}
   fmt.Printf("\n%s %s %s: %d suspects %d steps %d alike %v\n",e.Name,m.Name,c.Branch(best).Ref,len(l.Suspects),len(l.Steps),len(l.Alike),time.Since(t0))
   for i,s:=range l.Steps{ fmt.Printf(" %2d live=%v ul=%v %s %s - %s lift %v good %s clears %.2f min %.0f mode %s onlyif %d\n",i+1,s.Live,s.UnderLoad,s.Function,c.Terminal(s.P).Ref,c.Terminal(s.Q).Ref,s.Lift,s.Good.Range(),s.Clears,s.Minutes,c.Mode(s.Mode).Name,s.OnlyIf+1)
    for _,o:=range s.Others{ fmt.Printf("       differs=%v %s:",o.Differs,o.Reading.Range()); for _,k:=range o.Suspects{fmt.Print(" ",c.Branch(l.Suspects[k].Fault.Branch).Ref)}; fmt.Println()}}
   for _,g:=range l.Alike{ fmt.Print("  alike:"); for _,k:=range g{fmt.Print(" ",c.Branch(l.Suspects[k].Fault.Branch).Ref)}; fmt.Println()}
 }}
}
