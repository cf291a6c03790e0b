//! What the page may do, said to the browser.

/// The policy that stands in `index.html` itself.
///
/// - `'wasm-unsafe-eval'`: browsers ask for it to compile wasm.
/// - `style-src-attr`: plotters measures text with a `style` attribute, Yew may set one.
/// - `trusted-types default`: `boot.js` admits exactly two script addresses.
pub const CONTENT_SECURITY_POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; \
    style-src 'self'; style-src-attr 'unsafe-inline'; img-src 'self' data: blob:; connect-src 'self'; \
    worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; \
    require-trusted-types-for 'script'; trusted-types default";

/// The headers a host should send with every file.
///
/// `no-cache` lets a browser keep files but makes it ask whether they changed: file names carry no hash.
pub fn headers() -> Vec<(&'static str, String)> {
    vec![
        // Browsers heed `frame-ancestors` only in a header.
        ("content-security-policy", format!("{CONTENT_SECURITY_POLICY}; frame-ancestors 'none'")),
        ("cache-control", "no-cache".into()),
        ("x-content-type-options", "nosniff".into()),
        ("referrer-policy", "no-referrer".into()),
        ("cross-origin-opener-policy", "same-origin".into()),
        ("cross-origin-resource-policy", "same-origin".into()),
        ("permissions-policy", "camera=(), microphone=(), geolocation=(), payment=(), usb=()".into()),
    ]
}

/// The same headers as a `_headers` file, which several static hosts read.
pub fn headers_file() -> String {
    let lines = headers().into_iter().map(|(name, value)| format!("  {name}: {value}\n"));
    std::iter::once("/*\n".to_owned()).chain(lines).collect()
}
