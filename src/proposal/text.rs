//! Values in the notation that a schedule writes them in, and intake reads.

use crate::rules::branch::conductor_text;
use crate::schedule::wire::{Conductor, Grounding, Raceway, Routing, ShieldGround, Size};
use crate::schedule::{Circuit, Disconnect, Slot, Supply, UnitPlace, number};

pub fn size(size: Size) -> String {
    match size {
        Size::Awg(gauge) if gauge <= 0 => format!("#{}/0", 1 - gauge),
        Size::Awg(gauge) => format!("#{gauge}"),
        Size::Kcmil(kcmil) => format!("{kcmil} kcmil"),
    }
}

pub fn conductor(conductor: &Conductor) -> String {
    conductor
        .size
        .and_then(|size| conductor_text(conductor, size))
        .unwrap_or_else(|| conductor.to_string())
}

pub fn ground(ground: Grounding) -> String {
    match ground {
        Grounding::Sized { size: of, .. } => format!("{}G", size(of)),
        Grounding::Unsized => "w/G".into(),
        Grounding::ByRaceway => "by raceway".into(),
        Grounding::Absent => "no ground".into(),
    }
}

pub fn disconnect(disconnect: Disconnect) -> String {
    match (disconnect.amps, disconnect.fused, disconnect.fuse) {
        (Some(amps), _, Some(fuse)) => format!("{}A/{}F", number(amps.0), number(fuse.0)),
        (Some(amps), Some(false), None) => format!("{}A NF", number(amps.0)),
        (Some(amps), Some(true), None) => format!("{}A fused", number(amps.0)),
        (Some(amps), None, None) => format!("{}A", number(amps.0)),
        (None, _, Some(fuse)) => format!("{}F", number(fuse.0)),
        (None, Some(true), None) => "fused".into(),
        (None, Some(false), None) => "non-fused".into(),
        (None, None, None) => "yes".into(),
    }
}

pub fn slots(slots: &[Slot]) -> String {
    let texts: Vec<String> = slots.iter().map(Slot::to_string).collect();
    texts.join(",")
}

pub fn supply(supply: &Supply) -> String {
    let volts: Vec<String> = supply.volts.iter().map(u16::to_string).collect();
    match supply.phases {
        Some(phases) => format!("{}-{phases}-60", volts.join("/")),
        None => format!("{} V", volts.join("/")),
    }
}

/// `30A/2P` where one cell holds both, else the rating alone.
pub fn breaker(circuit: &Circuit) -> String {
    let Some(amps) = circuit.breaker.copied() else {
        return String::new();
    };
    let plain = number(amps.0);
    match (&circuit.poles, circuit.breaker.at()) {
        (crate::schedule::Field::Given(poles), at) if Some(poles.at) == at => {
            format!("{plain}A/{}P", poles.value)
        }
        _ => plain,
    }
}

pub fn raceway(raceway: &Raceway) -> String {
    match &raceway.trade_size {
        Some(size) => format!("{size}\" {}", raceway.kind),
        None => raceway.kind.to_string(),
    }
}

pub fn place(place: UnitPlace) -> &'static str {
    match place {
        UnitPlace::Roof => "roof",
        UnitPlace::Outdoors => "outdoors",
        UnitPlace::Attic => "attic",
        UnitPlace::Indoors => "indoors",
    }
}

pub fn routing(routing: Routing) -> &'static str {
    match routing {
        Routing::SameRaceway => "same raceway",
        Routing::SameRacewayWithBarrier => "same raceway with barrier",
        Routing::Tied => "tied",
        Routing::Parallel => "parallel",
        Routing::Crossing => "crossing",
        Routing::Apart => "separate",
    }
}

pub fn shield_ground(ground: &ShieldGround) -> String {
    match ground {
        ShieldGround::Nowhere => "none".into(),
        ShieldGround::OutdoorEnd => "outdoor end".into(),
        ShieldGround::IndoorEnd => "indoor end".into(),
        ShieldGround::FarEnd => "far end".into(),
        ShieldGround::LastUnit => "last unit".into(),
        ShieldGround::FromEnd => "from end".into(),
        ShieldGround::ToEnd => "to end".into(),
        ShieldGround::BothEnds => "both ends".into(),
        ShieldGround::At(name) => format!("at {name}"),
    }
}
