package settle_test
import ("testing";"fmt";"legtrace/netlists";"legtrace/circuit";"legtrace/circuit/settle";"time")
func TestZZ(t *testing.T){
 for _,name:=range []string{"range-electronic","range-mechanical"}{
 c,err:=netlists.Open(name); if err!=nil{t.Fatal(err)}
 e:=settle.New(c)
 timed:=0; bc:=map[circuit.Role]int{}; ohms:=0
 for _,b:=range c.Branches(){ bc[b.Role]++; if b.Rule.Timed{timed++}; if b.Role<=1&&b.Ohms>0{ohms++} }
 fmt.Println(name,len(c.Parts()),"parts",len(c.Terminals()),"terminals",len(c.Branches()),"branches",bc,"timed",timed,"ohmic joins",ohms)
 nf:=0
 for i:=range c.Branches(){ for k:=circuit.Open;k<=circuit.Grounded;k++{ if c.CanFail(circuit.Fault{Kind:k,Branch:circuit.BranchID(i)}){nf++}}}
 fmt.Println("faults",nf)
 for _,m:=range c.Modes(){ o,err:=e.Run(m.ID,nil); if err!=nil{fmt.Println(err);continue}
  fmt.Println(m.Name,"after",m.After,"brief",m.Brief,"rounds",o.Rounds,"chatter",o.Chatter!=nil,"tripped",o.Tripped, "drives",len(m.Drives))}
 t0:=time.Now(); n:=0; rounds:=0; trips:=0; chat:=0
 for _,m:=range c.Modes(){ for i:=range c.Branches(){ for k:=circuit.Open;k<=circuit.Grounded;k++{ f:=circuit.Fault{Kind:k,Branch:circuit.BranchID(i),At:0.5,Ohms:4,Factor:1.5}; if k==circuit.Grounded{f.Ohms=0}; if c.CanFail(f){ o,err:=e.Run(m.ID,[]circuit.Fault{f}); if err!=nil{fmt.Println(err);continue}; n++; rounds+=o.Rounds; if len(o.Tripped)>0{trips++}; if o.Chatter!=nil{chat++} }}}}
 fmt.Println(n,"runs",rounds,"rounds",time.Since(t0),time.Since(t0)/time.Duration(n),"trips",trips,"chat",chat)
 }
}
