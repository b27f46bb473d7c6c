//! Tracks: where in its channel each wire climbs, so that no two lie on each other and none crosses without need.

use super::lanes::Ways;
use super::place::Heights;
use super::plan::Side;

/// A hop's heights at its ends and its way.
#[derive(Debug, Clone, Copy)]
struct Climb {
    hop: usize,
    /// At the left border for ways through; of the upper end for turns.
    from: f64,
    to: f64,
}

impl Climb {
    fn span(&self) -> (f64, f64) {
        (self.from.min(self.to), self.from.max(self.to))
    }

    fn meets(&self, other: &Climb) -> bool {
        let ((a, b), (c, d)) = (self.span(), other.span());
        a <= d && c <= b
    }
}

/// Tracks of one channel.
#[derive(Debug, Default)]
pub(super) struct Tracks {
    /// Track of every hop, from the left; `None` for straight ones.
    pub(super) of_hop: Vec<Option<usize>>,
    /// Number of tracks.
    pub(super) count: usize,
}

/// Assigns tracks: turns on the left border first, then ways through, then turns on the right.
pub(super) fn tracks(ways: &Ways, heights: &Heights, channel: usize) -> Tracks {
    let mut through = Vec::new();
    let mut turns: [Vec<Climb>; 2] = [Vec::new(), Vec::new()];
    for (hop, ends) in ways.hops[channel].iter().enumerate() {
        let [a, b] = [0, 1].map(|end| heights.end(channel, hop, end));
        match ends.ends.map(|end| end.border) {
            [Side::Left, Side::Right] => through.push(Climb { hop, from: a, to: b }),
            [Side::Right, Side::Left] => through.push(Climb { hop, from: b, to: a }),
            [side, _] => turns[usize::from(side == Side::Right)].push(Climb { hop, from: a.min(b), to: a.max(b) }),
        }
    }
    let mut of_hop = vec![None; ways.hops[channel].len()];
    through.retain(|climb| climb.from != climb.to);
    let left = pack_turns(&mut turns[0]);
    let middle = pack_through(&mut through);
    let right = pack_turns(&mut turns[1]);
    let count = |tracks: &[usize]| tracks.iter().max().map_or(0, |most| most + 1);
    let (before, between, after) = (count(&left), count(&middle), count(&right));
    for (climb, track) in turns[0].iter().zip(left) {
        of_hop[climb.hop] = Some(track);
    }
    for (climb, track) in through.iter().zip(middle) {
        of_hop[climb.hop] = Some(before + track);
    }
    for (climb, track) in turns[1].iter().zip(right) {
        of_hop[climb.hop] = Some(before + between + after - 1 - track);
    }
    Tracks { of_hop, count: before + between + after }
}

/// Turns: what lies within another is nearer to the border.
fn pack_turns(turns: &mut [Climb]) -> Vec<usize> {
    turns.sort_by(|a, b| (a.to - a.from).total_cmp(&(b.to - b.from)).then(a.hop.cmp(&b.hop)));
    let mut tracks: Vec<usize> = Vec::with_capacity(turns.len());
    for (index, turn) in turns.iter().enumerate() {
        let above =
            turns[..index].iter().zip(&tracks).filter(|(other, _)| other.meets(turn)).map(|(_, track)| track + 1);
        let track = above.max().unwrap_or(0);
        tracks.push(track);
    }
    tracks
}

/// Ways through. Of two that both go down, the lower climbs further left, and of two that go up the upper one, so that
/// neither meets the other's ends; others only keep off each other's track.
fn pack_through(through: &mut [Climb]) -> Vec<usize> {
    let down = |climb: &Climb| climb.to > climb.from;
    through.sort_by(|a, b| {
        down(b).cmp(&down(a)).then_with(|| {
            let order = a.from.total_cmp(&b.from);
            if down(a) { order.reverse() } else { order }
        })
    });
    let mut tracks: Vec<usize> = Vec::with_capacity(through.len());
    for (index, climb) in through.iter().enumerate() {
        let same_way = |other: &Climb| down(other) == down(climb);
        let earlier = || through[..index].iter().zip(&tracks).filter(|(other, _)| other.meets(climb));
        let mut track = earlier().filter(|(other, _)| same_way(other)).map(|(_, track)| track + 1).max().unwrap_or(0);
        while earlier().any(|(_, &taken)| taken == track) {
            track += 1;
        }
        tracks.push(track);
    }
    tracks
}
