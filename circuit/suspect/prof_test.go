package suspect_test
import ("testing";"context";"legtrace/circuit/suspect")
func BenchmarkDryerNow(b *testing.B){
 c:=machine(b,"dryer")
 for b.Loop(){
  e,_:=suspect.New(c,suspect.Options{})
  for _,n:=range []suspect.Note{{Mode:"timed_dry",Load:"motor.main",State:"normal"},{Mode:"timed_dry",Load:"heater",State:"dead"},{Mode:"timed_dry",Function:"volts",P:"tb_l1",Q:"tb_l2",Answer:"120"},{Mode:"timed_dry",Quiet:"motor.main heater"}}{
   ev,err:=n.Resolve(c); if err!=nil{b.Fatal(err)}
   e.Add(context.Background(),ev)
  }
  if _,err:=e.Next(context.Background(),nil,3);err!=nil{b.Fatal(err)}
 }
}
