//! A file that several columns are read from at once.

use ::parquet::errors::ParquetError;
use ::parquet::file::reader::{ChunkReader, Length};
use bytes::Bytes;
use std::fs::File;
use std::io::{self, BufReader, Read, Seek, SeekFrom};
use std::sync::{Arc, Mutex, PoisonError};

/// A file of which each reader has a place of its own. (Copies of a file's handle share one place in the file, so that
/// two threads would read each other's bytes.)
#[derive(Debug, Clone)]
pub struct SharedFile {
    file: Arc<Mutex<File>>,
    length: u64,
}

impl SharedFile {
    pub fn of(file: File) -> io::Result<Self> {
        Ok(Self {
            length: file.metadata()?.len(),
            file: Arc::new(Mutex::new(file)),
        })
    }

    fn read_at(&self, at: u64, buffer: &mut [u8]) -> io::Result<usize> {
        let mut file = self.file.lock().unwrap_or_else(PoisonError::into_inner);
        file.seek(SeekFrom::Start(at))?;
        file.read(buffer)
    }
}

impl Length for SharedFile {
    fn len(&self) -> u64 {
        self.length
    }
}

impl ChunkReader for SharedFile {
    type T = BufReader<FromPlace>;

    fn get_read(&self, start: u64) -> Result<Self::T, ParquetError> {
        Ok(BufReader::new(FromPlace {
            file: self.clone(),
            at: start,
        }))
    }

    fn get_bytes(&self, start: u64, length: usize) -> Result<Bytes, ParquetError> {
        let end = start.checked_add(length as u64);
        if end.is_none_or(|end| end > self.length) {
            let past = format!("it speaks of bytes after its end, {}", self.length);
            return Err(ParquetError::EOF(past));
        }
        let mut bytes = vec![0; length];
        self.get_read(start)?.read_exact(&mut bytes)?;
        Ok(bytes.into())
    }
}

/// Reads on from a place.
#[derive(Debug)]
pub struct FromPlace {
    file: SharedFile,
    at: u64,
}

impl Read for FromPlace {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let read = self.file.read_at(self.at, buffer)?;
        self.at += read as u64;
        Ok(read)
    }
}
