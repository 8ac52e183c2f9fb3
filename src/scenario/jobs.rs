//! The jobs written by hand that are built into the program.

/// Name of the file and its text. The name without folder and ending is what `practice` takes.
pub const JOBS: [(&str, &str); 9] = [
    (
        "scenarios/jobs/hill-past-the-chapel.toml",
        include_str!("../../scenarios/jobs/hill-past-the-chapel.toml"),
    ),
    (
        "scenarios/jobs/nothing-left-at-the-top.toml",
        include_str!("../../scenarios/jobs/nothing-left-at-the-top.toml"),
    ),
    (
        "scenarios/jobs/second-fuse.toml",
        include_str!("../../scenarios/jobs/second-fuse.toml"),
    ),
    (
        "scenarios/jobs/kerb-at-the-chapel-gate.toml",
        include_str!("../../scenarios/jobs/kerb-at-the-chapel-gate.toml"),
    ),
    (
        "scenarios/jobs/nothing-left-on-the-fell-road.toml",
        include_str!("../../scenarios/jobs/nothing-left-on-the-fell-road.toml"),
    ),
    (
        "scenarios/jobs/counting-to-five.toml",
        include_str!("../../scenarios/jobs/counting-to-five.toml"),
    ),
    (
        "scenarios/jobs/red-below-the-upper-farm.toml",
        include_str!("../../scenarios/jobs/red-below-the-upper-farm.toml"),
    ),
    (
        "scenarios/jobs/howl-from-under-the-deck.toml",
        include_str!("../../scenarios/jobs/howl-from-under-the-deck.toml"),
    ),
    (
        "scenarios/jobs/last-up-from-the-quay.toml",
        include_str!("../../scenarios/jobs/last-up-from-the-quay.toml"),
    ),
];

/// `second-fuse` for `scenarios/jobs/second-fuse.toml`.
#[must_use]
pub fn job_name(file: &str) -> &str {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    name.strip_suffix(".toml").unwrap_or(name)
}
