//! A browser of a given size, in light, dark or on paper.

use headless_chrome::protocol::cdp::Emulation::{
    MediaFeature, SetDeviceMetricsOverride, SetEmulatedMedia, SetScriptExecutionDisabled,
};
use headless_chrome::{Browser, LaunchOptions, Tab};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

/// Where the page is looked at.
#[derive(Debug, Clone, Copy)]
pub struct Size {
    pub name: &'static str,
    pub width: u32,
    pub height: u32,
    /// On paper rather than on a screen.
    pub paper: bool,
}

pub const SIZES: [Size; 3] = [
    Size {
        name: "phone",
        width: 390,
        height: 844,
        paper: false,
    },
    Size {
        name: "desktop",
        width: 1280,
        height: 900,
        paper: false,
    },
    // What A4 leaves inside margins of a centimetre, at 96 dots per inch.
    Size {
        name: "paper",
        width: 718,
        height: 1047,
        paper: true,
    },
];

/// A browser with one page open.
pub struct Screen {
    tab: Arc<Tab>,
    // Closes when it goes away.
    _browser: Browser,
}

impl Screen {
    /// Opens a file.
    pub fn of(file: &Path) -> Self {
        let options = LaunchOptions::default_builder()
            .path(Some(chromium()))
            // The sandbox needs rights that a container does not give; the page is our own.
            .sandbox(false)
            .idle_browser_timeout(Duration::from_secs(300))
            .build()
            .expect("options");
        let browser = Browser::new(options).expect("Chromium starts");
        let tab = browser.new_tab().expect("a page");
        tab.set_default_timeout(Duration::from_secs(60));
        let screen = Self {
            tab,
            _browser: browser,
        };
        screen.open(file);
        screen
    }

    pub fn open(&self, file: &Path) {
        let address = format!("file://{}", file.display());
        self.tab.navigate_to(&address).expect("a page");
        self.tab.wait_until_navigated().expect("a page");
    }

    /// As on a screen of this size, in light or dark, or on paper.
    pub fn show(&self, size: Size, dark: bool) {
        let metrics = SetDeviceMetricsOverride {
            width: size.width,
            height: size.height,
            device_scale_factor: 1.0,
            mobile: size.name == "phone",
            scale: None,
            screen_width: None,
            screen_height: None,
            position_x: None,
            position_y: None,
            dont_set_visible_size: None,
            screen_orientation: None,
            viewport: None,
            display_feature: None,
            device_posture: None,
        };
        self.tab.call_method(metrics).expect("a size");
        let scheme = if dark { "dark" } else { "light" };
        let media = SetEmulatedMedia {
            media: Some(if size.paper { "print" } else { "screen" }.to_string()),
            features: Some(vec![MediaFeature {
                name: "prefers-color-scheme".to_string(),
                value: scheme.to_string(),
            }]),
        };
        self.tab.call_method(media).expect("a medium");
    }

    /// Whether scripts of the page may run.
    pub fn scripts(&self, on: bool) {
        let switch = SetScriptExecutionDisabled { value: !on };
        self.tab.call_method(switch).expect("scripts switched");
    }

    /// The value of an expression, which may be a promise.
    pub fn ask(&self, expression: &str) -> Value {
        let asked = format!("Promise.resolve({expression}).then(it => JSON.stringify(it))");
        let told = self.tab.evaluate(&asked, true).expect("an expression");
        let text = told.value.unwrap_or_default();
        let text = text.as_str().unwrap_or("null");
        serde_json::from_str(text).expect("JSON")
    }

    /// Runs a script.
    pub fn run(&self, script: &str) {
        self.tab.evaluate(script, false).expect("a script");
    }
}

/// The browser of the machine.
fn chromium() -> PathBuf {
    let names = ["chromium", "chromium-browser", "google-chrome"];
    let folders: Vec<PathBuf> = std::env::var_os("PATH")
        .map(|path| std::env::split_paths(&path).collect())
        .unwrap_or_default();
    names
        .iter()
        .flat_map(|name| folders.iter().map(move |folder| folder.join(name)))
        .find(|file| file.is_file())
        .unwrap_or_else(|| {
            panic!(
                "Chromium is missing: the report is looked at in it. Install it with: apt-get install chromium"
            )
        })
}
