use bench::*;
#[test] fn t() {
 let base=std::fs::read_to_string("../../starters/capacitor-start-pump.toml").unwrap();
 for plate in ["volts = 230, hertz = 50, amps = 2.6, rpm = 2800, poles = 2, microfarads = 12","volts = 230, hertz = 50, amps = 3.4, rpm = 2780, poles = 2, microfarads = 16"] { for uf in [25.0,40.0,60.0] {
  let a=base.find("plate = {").unwrap(); let b=a+base[a..].find('}').unwrap()+1;
  let text=format!("{}plate = {{ {plate} }}{}",&base[..a],&base[b..]).replace("microfarads = 40", &format!("microfarads = {uf}"));
  println!("== {plate} C {uf}");
  match bench::job::read("x",&text) { Err(e)=>println!("{e}"), Ok(job)=>{ println!("{}", job.warnings);
   let mut setups = job.setups.clone(); let mut s=setups[0].clone(); s.held.clear(); s.name="start free".into(); setups.push(s);
   for s in &setups { let n = wiring::unknown_count(&job.unit,&FaultSet::none());
    observe(&job.unit,s,&FaultSet::none(),&vec![0.0;n],|o|{
     print!("{}: ", s.name);
     if s.energised { 
      let m=Meter::handheld();
      for (i,p) in job.unit.parts().iter().enumerate(){ if p.kind.synchronous_rpm(60.0).is_some(){
        print!("{} rpm {:.0} W {:.0}; ", p.name, o.value(Measure::Rpm(i),&m).unwrap(), o.watts(i));
        for t in job.unit.terminals_of(i){ print!("{} {:.2}A ", job.unit.terminal_name(TerminalId(t)), o.value(Measure::AmpsAtTerminal(TerminalId(t)),&m).unwrap());}
        if let (Some(a),Some(b))=(job.unit.find_terminal("C1.a"),job.unit.find_terminal("C1.b")){print!("C1 {:.0}V ", o.value(Measure::Volts(a,b),&m).unwrap());}
      }}
     } else { let d=o.direct().unwrap(); let w=o.wired(); for (i,p) in job.unit.parts().iter().enumerate(){ if p.kind.synchronous_rpm(60.0).is_some(){ let r=job.unit.terminals_of(i); for t in r.clone().skip(1){ print!("{} {:.1} ohm ", job.unit.terminal_name(TerminalId(t)), d.ohms(w.net_at(TerminalId(r.start)),w.net_at(TerminalId(t))));}}}}
     println!();
    }).unwrap(); } } } } } }
