//! Which ways of putting leads to terminals are really different.
//!
//! An arrangement that looks the same after some of its terminals change places (the two ends of a pair, the three pairs
//! of a star) would else be counted many times over. Its symmetries form a group; of all permutations that the group
//! makes of each other, the one that comes first in the dictionary stands for all. It is the one in which every terminal
//! has a smaller lead than all terminals to which symmetries that leave the terminals before it in place could move it.

use crate::arrangement::{Arrangement, Break};

/// All symmetries of an arrangement with something open, as images of its terminals, the identity included.
pub fn symmetries(arrangement: &Arrangement, open: Break) -> Vec<Vec<usize>> {
    let nodes = arrangement.node_count();
    let mut joined = vec![vec![Vec::new(); nodes]; nodes];
    for (index, section) in arrangement.sections.iter().enumerate() {
        let class = (section.class, open == Break::Section(index));
        joined[section.from][section.to].push(class);
        joined[section.to][section.from].push(class);
    }
    joined.iter_mut().flatten().for_each(|classes| classes.sort_unstable());
    let label =
        |node: usize| arrangement.terminals.get(node).map(|t| (t.role, t.part, t.open, open == Break::Lead(node)));
    let mut found = Vec::new();
    let mut images: Vec<usize> = Vec::new();
    extend(&mut images, nodes, &mut found, &|images, image| {
        let node = images.len();
        label(node) == label(image) && (0..node).all(|other| joined[node][other] == joined[image][images[other]])
    });
    found.iter_mut().for_each(|images| images.truncate(arrangement.lead_count()));
    found.sort();
    found.dedup();
    found
}

fn extend(images: &mut Vec<usize>, nodes: usize, found: &mut Vec<Vec<usize>>, fits: &dyn Fn(&[usize], usize) -> bool) {
    if images.len() == nodes {
        found.push(images.clone());
        return;
    }
    for image in 0..nodes {
        if !images.contains(&image) && fits(images, image) {
            images.push(image);
            extend(images, nodes, found, fits);
            images.pop();
        }
    }
}

/// What may be open, one of each that symmetries make of each other, with how many it stands for.
pub fn distinct_breaks(arrangement: &Arrangement) -> Vec<(Break, usize)> {
    let all = symmetries(arrangement, Break::None).len();
    let sections = (0..arrangement.sections.len()).map(Break::Section);
    let leads = (0..arrangement.lead_count()).map(Break::Lead);
    let mut list: Vec<(Break, usize)> = vec![(Break::None, 1)];
    let mut seen: Vec<Vec<Break>> = Vec::new();
    for open in sections.chain(leads) {
        if seen.iter().any(|alike| alike.contains(&open)) {
            continue;
        }
        list.push((open, all / symmetries(arrangement, open).len()));
        seen.push(images_of(arrangement, open));
    }
    list
}

/// All that symmetries make of something open.
fn images_of(arrangement: &Arrangement, open: Break) -> Vec<Break> {
    let nodes = arrangement.lead_count();
    let whole = symmetries(arrangement, Break::None);
    match open {
        Break::None => vec![Break::None],
        Break::Lead(lead) => whole.iter().map(|images| Break::Lead(images[lead])).collect(),
        // Sections are told by the terminals at their ends; at most one end is an inner node, and there is at most one.
        Break::Section(section) => {
            let ends = |index: usize| (arrangement.sections[index].from, arrangement.sections[index].to);
            let image = |images: &[usize], node: usize| if node < nodes { images[node] } else { node };
            let (from, to) = ends(section);
            let moved: Vec<(usize, usize)> =
                whole.iter().map(|images| (image(images, from), image(images, to))).collect();
            (0..arrangement.sections.len())
                .filter(|&other| moved.iter().any(|&(a, b)| ends(other) == (a, b) || ends(other) == (b, a)))
                .map(Break::Section)
                .collect()
        }
    }
}

/// All distinct ways of putting leads to terminals: `way[terminal]` is the lead.
pub fn distinct_assignments(symmetries: &[Vec<usize>], leads: usize) -> Vec<Vec<usize>> {
    // Terminals that need a larger lead than this one has.
    let larger: Vec<Vec<usize>> = (0..leads)
        .map(|terminal| {
            let fixes_those_before = |images: &&Vec<usize>| (0..terminal).all(|before| images[before] == before);
            symmetries
                .iter()
                .filter(fixes_those_before)
                .map(|images| images[terminal])
                .filter(|&at| at != terminal)
                .collect()
        })
        .collect();
    let mut found = Vec::new();
    assign(&mut Vec::with_capacity(leads), leads, &larger, &mut found);
    found
}

fn assign(way: &mut Vec<usize>, leads: usize, larger: &[Vec<usize>], found: &mut Vec<Vec<usize>>) {
    let terminal = way.len();
    if terminal == leads {
        found.push(way.clone());
        return;
    }
    for lead in 0..leads {
        let is_small = || (0..terminal).any(|before| way[before] > lead && larger[before].contains(&terminal));
        if !way.contains(&lead) && !is_small() {
            way.push(lead);
            assign(way, leads, larger, found);
            way.pop();
        }
    }
}
