//! Killed in mid-write, or with no room on the disk: the log survives.

use crate::support::{Shop, said, status};
use keenspan::logbook::read::read_logbook;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::process::Child;
use std::time::{Duration, Instant};

const KILLS: usize = 200;
/// Some of the kills have to fall between the making of the new file and its taking the old one's
/// place, or nothing has been shown.
const MID_WRITE: usize = 20;

#[test]
fn a_log_killed_two_hundred_times_while_being_written_always_reads_clean() {
    let shop = Shop::new();
    let mut random = ChaCha8Rng::seed_from_u64(9);
    let usual = time_of_one_add(&shop);
    let (mut kills, mut mid_write) = (0, 0);
    for attempt in 0.. {
        assert!(
            attempt < 20 * KILLS,
            "{kills} kills, {mid_write} of them mid-write"
        );
        if kills >= KILLS && mid_write >= MID_WRITE {
            break;
        }
        let before = shop.text("runs.csv");
        let mut child = add(&shop, attempt);
        if attempt % 2 == 0 {
            std::thread::sleep(usual.mul_f64(random.random_range(0.0..1.2)));
        } else {
            wait_for_a_half_written_file(&shop, &mut child);
        }
        kills += usize::from(kill(child));
        mid_write += usize::from(shop.strays() > 0);
        old_or_one_more(&shop, &before);
    }
    let last = shop.run(&["add", "run", "--hours", "1"]);
    assert_eq!(status(&last), 0, "{}", said(&last));
    assert_eq!(shop.strays(), 0);
}

fn time_of_one_add(shop: &Shop) -> Duration {
    let begun = Instant::now();
    assert_eq!(status(&shop.run(&["add", "run", "--hours", "1"])), 0);
    begun.elapsed()
}

fn add(shop: &Shop, attempt: usize) -> Child {
    let note = format!("attempt {attempt}");
    let mut command = shop.command(&[
        "add", "run", "--hours", "0.005", "--wood", "oak", "--note", &note,
    ]);
    command
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::null())
        .spawn()
        .expect("the program runs")
}

fn wait_for_a_half_written_file(shop: &Shop, child: &mut Child) {
    while shop.strays() == 0 {
        if child.try_wait().expect("a child").is_some() {
            return;
        }
    }
}

/// Whether the program was still at work when it was killed.
fn kill(mut child: Child) -> bool {
    child.kill().expect("a child to kill");
    let status = child.wait().expect("a child");
    status.code().is_none()
}

fn old_or_one_more(shop: &Shop, before: &str) {
    let reading = read_logbook(&shop.log()).expect("a log");
    assert_eq!(reading.problems, []);
    let after = shop.text("runs.csv");
    let new = after
        .strip_prefix(before)
        .expect("the old rows, byte for byte");
    assert!(
        new.is_empty() || new.lines().count() == 1 && new.ends_with('\n'),
        "{new:?}"
    );
}

#[test]
fn a_full_disk_leaves_the_old_file_and_says_so() {
    let Some(disk) = SmallDisk::mount() else {
        eprintln!("not tested: mounting a small disk takes the rights of root");
        return;
    };
    let log = disk.path().join("log").display().to_string();
    let made = crate::support::keenspan(&[
        "new",
        &log,
        "--machine",
        "M",
        "--rotor",
        "drum",
        "--knives",
        "2",
    ]);
    assert_eq!(status(&made), 0, "{}", said(&made));
    let before = std::fs::read(disk.path().join("log/runs.csv")).expect("runs.csv");
    disk.fill();
    let refused = crate::support::keenspan(&["--log", &log, "add", "run", "--hours", "1"]);
    assert_eq!(status(&refused), 4);
    for part in ["runs.csv", "the file stands as it was before", "Make room"] {
        assert!(said(&refused).contains(part), "{}", said(&refused));
    }
    assert_eq!(
        std::fs::read(disk.path().join("log/runs.csv")).expect("runs.csv"),
        before
    );
    disk.free();
    let added = crate::support::keenspan(&["--log", &log, "add", "run", "--hours", "1"]);
    assert_eq!(status(&added), 0, "{}", said(&added));
}

/// A disk of some kilobytes in memory.
struct SmallDisk {
    folder: tempfile::TempDir,
}

impl SmallDisk {
    fn mount() -> Option<Self> {
        let folder = tempfile::tempdir().ok()?;
        let mounted = std::process::Command::new("mount")
            .args(["-t", "tmpfs", "-o", "size=256k", "tmpfs"])
            .arg(folder.path())
            .stderr(std::process::Stdio::null())
            .status();
        mounted
            .is_ok_and(|status| status.success())
            .then_some(Self { folder })
    }

    fn path(&self) -> &std::path::Path {
        self.folder.path()
    }

    fn fill(&self) {
        use std::io::Write;
        let mut filler = std::fs::File::create(self.path().join("filler")).expect("a filler");
        while filler.write_all(&[0; 512]).is_ok() {}
    }

    fn free(&self) {
        std::fs::remove_file(self.path().join("filler")).expect("the filler");
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = std::process::Command::new("umount")
            .arg(self.path())
            .status();
    }
}
