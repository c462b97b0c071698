//! Where the package is, from any of its subfolders, and where its builds go.

use std::env;
use std::path::PathBuf;
use std::process::Command;

use super::Trouble;

/// The package on disk.
#[derive(Debug)]
pub(crate) struct Package {
    /// The folder of Cargo.toml.
    pub(crate) root: PathBuf,
    /// Cargo's target folder, wherever the environment or a configuration puts it.
    pub(crate) target: PathBuf,
}

impl Package {
    /// Finds the package: what cargo says when it started us, else the nearest Cargo.toml at or above the current folder.
    pub(crate) fn find() -> Result<Self, Trouble> {
        let start = env::var_os("CARGO_MANIFEST_DIR").map(PathBuf::from).or_else(|| env::current_dir().ok());
        let root = start
            .as_deref()
            .and_then(|start| start.ancestors().find(|folder| folder.join("Trunk.toml").is_file()))
            .ok_or_else(|| Trouble::Allow("this folder: it is not inside the Soakbook package".to_owned()))?
            .to_owned();
        let target = target_folder(&root).unwrap_or_else(|| root.join("target"));
        Ok(Self { root, target })
    }

    /// The folder for what this command keeps between two runs.
    pub(crate) fn desk(&self) -> PathBuf {
        self.target.join("desk")
    }

    /// Where the words of started programs are kept.
    pub(crate) fn logs(&self) -> PathBuf {
        self.desk().join("logs")
    }
}

fn target_folder(root: &PathBuf) -> Option<PathBuf> {
    let output = Command::new("cargo")
        .args(["metadata", "--format-version=1", "--no-deps", "--offline"])
        .current_dir(root)
        .output()
        .ok()?;
    let metadata: serde_json::Value = serde_json::from_slice(&output.stdout).ok()?;
    metadata.get("target_directory")?.as_str().map(PathBuf::from)
}
