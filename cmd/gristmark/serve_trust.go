package main

import (
	"crypto/sha256"
	"encoding/base64"
	"html/template"
)

// trustStyle is the look of the page that tells phones how to trust the certificate; it stands in the page, under its hash.
const trustStyle = "body{font:18px/1.5 system-ui,sans-serif;color:#111;background:#fff;max-width:40em;margin:0 auto;padding:16px}" +
	"a.do{display:block;padding:14px 18px;margin:12px 0;background:#0b4f2e;color:#fff;text-align:center;border-radius:8px;text-decoration:none;font-weight:600}" +
	"code{overflow-wrap:anywhere;font-size:15px}li{margin:6px 0}"

var trustStyleHash = func() string {
	sum := sha256.Sum256([]byte(trustStyle))
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}()

var trustPage = template.Must(template.New("").Funcs(template.FuncMap{"css": func(s string) template.CSS { return template.CSS(s) }}).Parse(`<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>Trust this log once</title><style>{{css .Style}}</style></head>
<body><main>
<h1>Trust this log once</h1>
<p>With the certificate of this log a phone keeps photos while there is no signal and sends them later. It speaks for this local network alone.</p>
<a class="do" href="/ca.crt">1. Load the certificate</a>
<h2>iPhone</h2>
<ol><li>Allow the profile to be loaded.</li><li>Settings, Profile Downloaded, Install.</li>
<li>Settings, General, About, Certificate Trust Settings: switch on “gristmark”.</li></ol>
<h2>Android</h2>
<ol><li>Settings, Security, More, Install from storage, CA certificate.</li><li>Choose gristmark-ca.crt. The names differ a little between makers.</li></ol>
<p>Compare this with what the laptop shows before you trust it:<br><code>{{.Finger}}</code></p>
<a class="do" href="{{.To}}">2. Open the log</a>
</main></body></html>
`))
