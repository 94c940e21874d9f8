//! One file, replaced whole or not at all, by one writer at a time.

use super::WriteError;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Held while somebody writes; a second writer waits for it. The system lets go of it when the
/// writer ends, however it ends.
const LOCK_FILE: &str = ".keenspan.lock";
const TEMPORARY_PREFIX: &str = ".keenspan-";
const TEMPORARY_SUFFIX: &str = ".tmp";

/// A log folder in which nobody else writes as long as this lives.
#[derive(Debug)]
pub(super) struct LogFolder {
    path: PathBuf,
    _lock: File,
}

impl LogFolder {
    /// Makes the folder if need be, waits for other writers, and sweeps up what a killed one left.
    pub(super) fn lock(path: &Path) -> Result<Self, WriteError> {
        let folder_error = |source| WriteError::Folder {
            path: path.to_owned(),
            source,
        };
        fs::create_dir_all(path).map_err(folder_error)?;
        let lock = open_lock_file(&path.join(LOCK_FILE)).map_err(folder_error)?;
        lock.lock().map_err(folder_error)?;
        sweep(path);
        Ok(Self {
            path: path.to_owned(),
            _lock: lock,
        })
    }

    pub(super) fn has(&self, name: &str) -> bool {
        self.path.join(name).exists()
    }

    /// Replaces the file by these bytes: they are on the disk before the old ones are let go.
    pub(super) fn replace(&self, name: &str, bytes: &[u8]) -> Result<(), WriteError> {
        let path = self.path.join(name);
        replace(&path, bytes)
    }
}

/// Replaces one file by these bytes: they are on the disk before the old ones are let go.
pub(super) fn replace(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    // A link stays a link: the file that it points to is the one replaced.
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    replace_file(&target, bytes).map_err(|source| WriteError::File {
        path: path.to_owned(),
        source,
    })
}

fn open_lock_file(path: &Path) -> io::Result<File> {
    OpenOptions::new()
        .create(true)
        .truncate(false)
        .write(true)
        .open(path)
}

/// Only a writer holds the lock, so any temporary file seen under it was left by one that died.
/// One that cannot be removed harms nobody: it is never read.
fn sweep(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let name = name.to_string_lossy();
        if name.starts_with(TEMPORARY_PREFIX) && name.ends_with(TEMPORARY_SUFFIX) {
            let _ = fs::remove_file(entry.path());
        }
    }
}

fn replace_file(target: &Path, bytes: &[u8]) -> io::Result<()> {
    // The parent of a bare name is blank: it lies in the folder where the program runs.
    let named = target.parent().filter(|folder| *folder != Path::new(""));
    let folder = named.unwrap_or(Path::new("."));
    let mut temporary = temporary_file(folder)?;
    temporary.write_all(bytes)?;
    if let Ok(old) = fs::metadata(target) {
        // Some disks know no permissions; the row matters more.
        let _ = fs::set_permissions(temporary.path(), old.permissions());
    }
    temporary.as_file().sync_all()?;
    temporary.persist(target).map_err(|error| error.error)?;
    sync_folder(folder);
    Ok(())
}

/// Readable by the others of the shop, as far as the system's own rule for new files allows.
fn temporary_file(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(TEMPORARY_PREFIX).suffix(TEMPORARY_SUFFIX);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

/// Puts the new name on the disk, too, where the system can. The new file stands in its place by now:
/// an error here would have somebody add the same row again.
fn sync_folder(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}
