package synth

import ("testing";"fmt";"stopledger/replay";"stopledger/events")

func TestZ(t *testing.T){
 s,_:=New(Options{Seed:1,Games:60,DoubleCharted:0.1})
 r,err:=replay.Fold(s.Events()); if err!=nil{t.Fatal(err)}
 count:=map[string]int{}
 show:=map[string]int{}
 for _,g:=range r.Games { 
  for _,f:=range g.Findings{ count["game "+f.What]++; if show[f.What]++; show[f.What]<4 {fmt.Println(g.ID,f.What,f.Text)}}
  for _,c:=range g.Charts { for _,f:=range c.Findings{ count[string(c.Name)+" "+f.What]++; k:=string(c.Name)+f.What; if show[k]++; show[k]<5 {fmt.Println(g.ID,c.Name,f.What,f.Text,f.Event)}}}
 }
 fmt.Println(count, len(r.Games))
 for _,p:=range s.planted(){ if p.Chart=="main"{fmt.Printf("%+v\n",p)}}
 _ = events.Version
}
