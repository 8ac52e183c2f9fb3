//! A network of the size and shape of a vehicle's pump circuits: a battery, feeds and grounds that
//! branch like trees, a few loads between them, one motor, high-ohm leaks. Also used by benches.

use hidden_ohm::circuit::{Branch, Network, NodeId, Source};

/// Random numbers for test data (Marsaglia's xorshift64*).
pub struct Numbers(u64);

impl Numbers {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// From 0 up to but not including 1.
    pub fn unit(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn below(&mut self, count: u32) -> u32 {
        let count = f64::from(count);
        // The product is below `count`, a u32.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let drawn = (self.unit() * count) as u32;
        drawn
    }

    /// Evenly spread in the logarithm.
    pub fn ohms(&mut self, low: f64, high: f64) -> f64 {
        low * libm::pow(high / low, self.unit())
    }
}

/// A network with `nodes` nodes (at least 8); node 0 is the negative post.
pub fn vehicle_like(nodes: u32, seed: u64) -> Network {
    let mut numbers = Numbers::new(seed);
    let mut net = Network::new(NodeId(0));
    let (ground, post) = (NodeId(0), net.add_node());
    net.add_source(Source {
        from: ground,
        to: post,
        volts: 12.65,
        ohms: 6e-3,
        tag: 0,
    });
    let mut feed = vec![post];
    let mut body = vec![ground];
    while net.node_count() < nodes as usize {
        let side = if net.node_count().is_multiple_of(3) {
            &mut body
        } else {
            &mut feed
        };
        // Mostly onwards from the last few nodes: long chains with short branches.
        let back = 1 + numbers.below(3.min(u32::try_from(side.len()).unwrap()));
        let from = side[side.len() - back as usize];
        let to = net.add_node();
        net.add_branch(Branch {
            from,
            to,
            ohms: numbers.ohms(1e-3, 0.1),
            tag: 0,
        });
        side.push(to);
    }
    let mut across = |net: &mut Network, low: f64, high: f64| {
        let from = feed[numbers.below(u32::try_from(feed.len()).unwrap()) as usize];
        let to = body[numbers.below(u32::try_from(body.len()).unwrap()) as usize];
        net.add_branch(Branch {
            from,
            to,
            ohms: numbers.ohms(low, high),
            tag: 0,
        });
    };
    for _ in 0..nodes / 6 {
        across(&mut net, 1.0, 100.0);
    }
    for _ in 0..nodes / 10 {
        across(&mut net, 1e5, 1e7);
    }
    let (plus, minus) = (feed[feed.len() - 1], body[body.len() - 1]);
    net.add_source(Source {
        from: minus,
        to: plus,
        volts: 9.0,
        ohms: 0.6,
        tag: 0,
    });
    // A second way to ground closes a loop on the body side.
    net.add_branch(Branch {
        from: minus,
        to: ground,
        ohms: numbers.ohms(1e-2, 1.0),
        tag: 0,
    });
    net
}
